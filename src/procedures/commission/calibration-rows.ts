import type { LedgerRow } from '../../base/index.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { type Findings, judgeMeasured, sentences, whyUncalibrated } from './findings.js';

/** How many distances have a best focus, how well the model goes through them, and how well it predicts others. */
export function calibrationRows({ station, complete, autofocus, calibration }: Findings): LedgerRow[] {
  const { nearMm, farMm } = station.task;
  const halfWidthDpt = Math.min(
    ...[nearMm, farMm].map((workingDistanceMm) => focusHalfWidthDpt({ station, workingDistanceMm })),
  );
  const found = autofocus.filter((result) => result.kind === 'found').length;
  const refusals = autofocus.flatMap((result) => (result.kind === 'refused' ? [result] : []));
  const fitted = calibration?.kind === 'fitted' ? calibration : null;
  // A run that ended early has not looked at the others.
  const foundVerdict = !complete && found < leastDistances ? 'unknown' : null;
  const claimedDpt = fitted && rms(fitted.points.map((point) => point.measuredDpt.std ?? 0));
  const residual = fitted && { value: fitted.residualRmsDpt, std: null };
  const interval = fitted && { value: Math.max(...fitted.curve.map((point) => point.predicted95Dpt)), std: null };
  const remedy =
    calibration?.kind === 'refused'
      ? calibration.remedy
      : 'See the residuals of the calibration; repeat the worst distance.';
  const row = (
    rest: Pick<LedgerRow, 'key' | 'title' | 'measured' | 'predicted' | 'required' | 'reason' | 'basis'>,
  ): LedgerRow => {
    const verdict = judgeMeasured(rest.measured, rest.required ?? { min: null, max: null });
    return { unit: 'dpt', ...rest, verdict, remedy: verdict === 'meets' ? null : remedy };
  };
  return [
    {
      ...row({
        key: 'autofocus.found',
        title: 'Distances with best focus found',
        required: { min: leastDistances, max: null },
        predicted: null,
        measured: autofocus.length > 0 ? { value: found, std: 0 } : null,
        reason: sentences(
          `${found} of ${autofocus.length} distances.`,
          ...refusals.map((r) => `${r.workingDistanceMm.toFixed(1)} mm: ${r.message}`),
        ),
        basis: 'Through-focus sweep with peak fit at each distance.',
      }),
      unit: '',
      ...(foundVerdict !== null && { verdict: foundVerdict }),
      remedy: refusals[0]?.remedy ?? null,
    },
    row({
      key: 'calibration.residualRms',
      title: 'Distance calibration, rms residual',
      required: { min: null, max: halfWidthDpt / 2 },
      predicted: claimedDpt ? { value: claimedDpt, std: null, note: 'uncertainty of the points' } : null,
      measured: residual,
      reason: fitted
        ? sentences(scatterInWords(fitted.reducedChiSquare), fitted.explanation)
        : whyUncalibrated(calibration),
      basis:
        'Maximum a posteriori fit of lens offset and gain, ring, spacer and focal length; allowed: half of the depth-of-field half-width by the task’s contrast.',
    }),
    row({
      key: 'calibration.interval',
      title: 'Focus by calibration, 95 % prediction interval (±)',
      required: { min: null, max: halfWidthDpt },
      predicted: null,
      measured: interval,
      reason: interval
        ? `A commanded power is off best focus by at most ${interval.value.toFixed(3)} dpt in 95 of 100 cases; the depth of field by the task’s contrast allows ${halfWidthDpt.toFixed(3)} dpt.`
        : whyUncalibrated(calibration),
      basis:
        'Widest place of the interval over the range; depth-of-field half-width by the task’s contrast, the smaller of near and far.',
    }),
  ];
}

/** What a reduced χ² says of the points. */
function scatterInWords(reducedChiSquare: number): string {
  const says =
    reducedChiSquare < 0.3
      ? 'the points lie closer to the curve than their uncertainties say'
      : reducedChiSquare <= 3
        ? 'the points scatter as their uncertainties say'
        : 'the points scatter more than their uncertainties say';
  return `Reduced χ² ${reducedChiSquare.toFixed(2)}, 1 expected: ${says}.`;
}

/** Distances with best focus that a calibration should rest on; common practice, no source. */
const leastDistances = 5;

const rms = (list: readonly number[]): number => Math.sqrt(list.reduce((sum, v) => sum + v * v, 0) / list.length);
