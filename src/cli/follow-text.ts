import type { FollowBegun } from '../app/index.js';
import type { FocusedPart, PartsSummary } from '../station/index.js';

const startsFrom: Record<FollowBegun['forecast'], string> = {
  calibration: 'the distance calibration',
  station: 'the station’s model',
  none: 'the part before',
};

/** What is known before the first part. */
export function begunText({ camera, region, forecast }: FollowBegun): string {
  const { xPx, yPx, widthPx, heightPx, by } = region;
  const chosen = by === 'texture' ? ', chosen for its texture' : '';
  return [
    `${camera.model}, ${camera.lensModel}`,
    `Region ${widthPx} × ${heightPx} px at ${xPx}, ${yPx}${chosen}; first looks from ${startsFrom[forecast]}`,
    '  part   distance mm    expected dpt           found dpt            frames   ms',
  ].join('\n');
}

/** One line for one part. */
export function partLine({ number, workingDistanceMm, expected, result }: FocusedPart): string {
  const distance = workingDistanceMm === null ? '–' : workingDistanceMm.toFixed(1);
  const cells = [
    String(number).padStart(6),
    distance.padStart(13),
    (expected ? pair(expected) : '–').padStart(18),
    ...(result.kind === 'found'
      ? [pair(result).padStart(18), String(result.frames).padStart(9), result.elapsedMs.toFixed(0).padStart(6)]
      : [`  refused (${result.reason}): ${result.message} → ${result.remedy}`]),
  ];
  return cells.join('  ');
}

/** What became of all parts. */
export function partsText(summary: PartsSummary): string {
  const { state, partCount, foundCount, drift } = summary;
  const ends = {
    complete: '',
    cancelled: ', ended early',
    device: ', ended: lens or camera did not follow for three parts in turn',
  };
  return [
    `${foundCount} of ${partCount} parts in focus${ends[state]}. The lens is parked.`,
    ...(summary.medianFrameCount === null
      ? []
      : [
          `Frames: median ${summary.medianFrameCount}, 95 % within ${summary.ninetyFifthFrameCount}; time: median ${summary.timeMedianMs!.toFixed(0)} ms, 95 % within ${summary.timeNinetyFifthMs!.toFixed(0)} ms`,
        ]),
    ...(drift === null ? [] : [driftText(drift)]),
  ].join('\n');
}

/** Standard deviations from 0 from which on a drift is told as one. */
const tellingSigmas = 3;

function driftText({ changeDpt, changeStdDpt }: NonNullable<PartsSummary['drift']>): string {
  const isTelling = Math.abs(changeDpt) > tellingSigmas * changeStdDpt;
  return `Drift: ${(1000 * changeDpt).toFixed(2)} ± ${(1000 * changeStdDpt).toFixed(2)} mdpt a part${isTelling ? '; the lens or the station changes: calibrate anew' : ', not to be told from none'}`;
}

const pair = ({ focalPowerDpt, focalPowerStdDpt }: { focalPowerDpt: number; focalPowerStdDpt: number }) =>
  `${focalPowerDpt.toFixed(3)} ± ${focalPowerStdDpt.toFixed(3)}`;
