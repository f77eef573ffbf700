import type { AutofocusReport } from '../app/index.js';
import { counted } from '../base/index.js';
import type { AutofocusResult, FocusProbe } from '../station/index.js';
import { withMinusSigns } from './output.js';

/** One frame of a search, for standard error. */
export function probeLine({ role, focalPowerDpt, measure, meanGreyDn }: FocusProbe): string {
  const sharpness = Number(measure.toPrecision(4));
  return `  ${role === 'confirm' ? 'confirm' : 'look   '} ${focalPowerDpt.toFixed(3)} dpt  sharpness ${sharpness}  mean ${meanGreyDn.toFixed(1)} DN`;
}

/** What an autofocus ended with, for a person. */
export function autofocusText(report: AutofocusReport): string {
  const { camera, results, chosenIndex, choice, region, lensDpt, parked, recordedIn } = report;
  const many = results.length > 1;
  const lines = results.flatMap((result, i) => [
    ...(many ? [`${regionText(result)}${i === chosenIndex ? `: ${choice}, taken` : ''}`] : []),
    ...resultLines(result).map((line) => (many ? `  ${line}` : line)),
  ]);
  const where = parked
    ? `The lens is parked at ${lensDpt.toFixed(3)} dpt.`
    : `The lens stays at ${lensDpt.toFixed(3)} dpt.`;
  const chosen =
    region.by === 'texture'
      ? [`${regionText(results[0]!)}, chosen for its texture in ${counted(region.frames, 'frame')} before the search`]
      : [];
  return withMinusSigns(
    [
      `${camera.model}, ${camera.lensModel}`,
      ...chosen,
      ...lines,
      where,
      ...blurLines(report),
      ...recordedLines(recordedIn),
    ].join('\n'),
  );
}

const recordedLines = (folder: string | null): string[] =>
  folder === null ? [] : [`Recorded in ${folder}; again with --camera replay:${folder}`];

/** What was learned of the camera's blur, where nobody knew it. */
function blurLines({ blur }: AutofocusReport): string[] {
  if (blur === null) return [];
  const { before, after, isForgotten, isKept } = blur;
  const scale = ({ blurRadiusPerDptPx, blurRadiusLogStd, runCount }: NonNullable<typeof after>) =>
    `${blurRadiusPerDptPx.toPrecision(3)} px a dpt ± ${(100 * blurRadiusLogStd).toFixed(0)} %, from ${counted(runCount, 'run')}`;
  return [
    ...(before
      ? [`Blur known from earlier runs: ${scale(before)}${isForgotten ? '; contradicted and forgotten' : ''}`]
      : []),
    ...(after && after !== before
      ? [`Blur ${isKept ? 'kept for next time' : 'learned, but the user’s data cannot be written'}: ${scale(after)}`]
      : []),
  ];
}

function resultLines(result: AutofocusResult): string[] {
  const cost = `${counted(result.frames, 'frame')}, ${result.elapsedMs.toFixed(0)} ms`;
  if (result.kind === 'refused') return [`Refused (${result.reason}): ${result.message}`, `  → ${result.remedy}`, cost];
  const { focalPowerDpt, focalPowerStdDpt, halfWidthDpt, probabilityInFocus, confirmation, approachedFrom } = result;
  return [
    `Best focus ${focalPowerDpt.toFixed(3)} ± ${focalPowerStdDpt.toFixed(3)} dpt, reached from ${approachedFrom}`,
    ...(halfWidthDpt === null
      ? []
      : [`Depth of field ± ${halfWidthDpt.toFixed(3)} dpt (contrast at 0.25 cycles/px at 80 % of its best)`]),
    ...(probabilityInFocus === null
      ? ['This search states no probability.']
      : [`Inside half of it with a probability of ${(100 * probabilityInFocus).toFixed(1)} %`]),
    ...(confirmation === null
      ? []
      : [
          `Confirmed: ${((100 * confirmation.measured) / confirmation.predicted).toFixed(0)} % of the sharpness to be expected`,
        ]),
    cost,
  ];
}

const regionText = ({ region: { xPx, yPx, widthPx, heightPx } }: AutofocusResult): string =>
  `Region ${widthPx} × ${heightPx} px at ${xPx}, ${yPx}`;
