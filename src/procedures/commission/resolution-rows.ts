import type { Estimate, LedgerRow } from '../../base/index.js';
import { predictedMtf, type ResolutionReading, type Station } from '../../station/index.js';
import { requirePredictedPowerDpt } from '../focus-half-width.js';
import { resolutionPlaces } from '../resolution-check/plan.js';
import { isElsewhere, placeThere } from './elsewhere.js';
import { differs, type Findings, judgeMeasured, sentences } from './findings.js';

/** MTF at the task's frequency at near, middle and far, beside the prediction. */
export function resolutionRows({ station, resolution }: Findings): LedgerRow[] {
  const wanted = resolutionPlaces(station, { distancesMm: null });
  return (['near', 'middle', 'far'] as const).map((name): LedgerRow => {
    const reading = resolution.find((r) => r.name === name);
    const measured = reading?.result.kind === 'measured' ? reading.result.mtfAtTask : null;
    const predicted = reading?.result.kind === 'measured' ? predictedEstimate(station, reading, reading.result) : null;
    const required = { min: station.task.contrastNeeded, max: null };
    const { workingDistanceMm: wantedMm } = wanted.find((place) => place.name === name)!;
    const elsewhere =
      reading !== undefined &&
      isElsewhere({ station, wantedMm, measuredMm: reading.workingDistanceMm }) &&
      `measured at ${reading.workingDistanceMm.toFixed(0)} mm; the task’s ${name} is ${wantedMm.toFixed(0)} mm`;
    const verdict = elsewhere ? 'unknown' : judgeMeasured(measured, required);
    return {
      key: `resolution.${name}.mtfAtTask`,
      title: `MTF at the task frequency, ${name}${elsewhere && reading ? ` (at ${reading.workingDistanceMm.toFixed(0)} mm)` : ''}`,
      unit: '',
      required,
      predicted,
      measured,
      verdict,
      reason: reading
        ? sentences(elsewhere && `M${elsewhere.slice(1)}.`, reasonOf(station, reading, { measured, predicted }))
        : 'Not measured: the run ended before the resolution check.',
      remedy: verdict === 'meets' ? null : elsewhere ? placeThere(wantedMm) : remedyOf(reading),
      basis:
        'Likelihood fit of a parametric edge to a slanted edge (the measurand of the e-SFR of ISO 12233, not its steps) at the best focus of the calibration, target at rest; prediction: diffraction, wavefront error of the parts, pixel.',
    };
  });
}

/** Share by which the wavefront error of the parts may differ from what is stated; common practice, no source. */
const wavefrontUncertainty = 0.5;

/** The prediction, uncertain by what the wavefront error of the parts leaves open. */
function predictedEstimate(
  station: Station,
  { workingDistanceMm }: ResolutionReading,
  { predictedMtfAtTask, taskFrequencyPerPx }: Extract<ResolutionReading['result'], { kind: 'measured' }>,
): Estimate {
  const [low, high] = [1 - wavefrontUncertainty, 1 + wavefrontUncertainty].map((ratio) => {
    const other = withWavefrontError(station, ratio);
    return (
      predictedMtf({ station: other, workingDistanceMm, frequenciesPerPx: [taskFrequencyPerPx], moving: false })?.[0] ??
      0
    );
  });
  return {
    value: predictedMtfAtTask,
    std: Math.abs(high! - low!) / 2,
    note: 'wavefront error of the parts known to a half',
  };
}

function withWavefrontError(station: Station, ratio: number): Station {
  const { fixedLens, tunableLens } = station.parts;
  const scaled = <P extends { wavefrontErrorRmsWaves: number }>(part: P): P => ({
    ...part,
    wavefrontErrorRmsWaves: part.wavefrontErrorRmsWaves * ratio,
  });
  return { ...station, parts: { ...station.parts, fixedLens: scaled(fixedLens), tunableLens: scaled(tunableLens) } };
}

function reasonOf(
  station: Station,
  reading: ResolutionReading,
  row: Pick<LedgerRow, 'measured' | 'predicted'>,
): string {
  const { result, workingDistanceMm } = reading;
  if (result.kind === 'refused') return `Not measured at ${workingDistanceMm.toFixed(1)} mm: ${result.reason}`;
  const { mtfAtTask, predictedMtfAtTask, taskFrequencyPerPx, orientation } = result;
  return sentences(
    `${mtfAtTask.value.toFixed(3)} ± ${(mtfAtTask.std ?? 0).toFixed(3)} at ${taskFrequencyPerPx.toFixed(3)} cycles/px (${orientation} edge, ${workingDistanceMm.toFixed(1)} mm); predicted ${predictedMtfAtTask.toFixed(3)}.`,
    differs(row) && explain(station, reading, mtfAtTask.value - predictedMtfAtTask),
  );
}

function explain(station: Station, { result, workingDistanceMm }: ResolutionReading, difference: number): string {
  if (result.kind === 'refused') return '';
  if (difference > 0) {
    return 'Higher than predicted: the lens is better than its stated wavefront error, the f-number set wider, or the camera sharpens; switch sharpening off and look again.';
  }
  const offDpt = equivalentDefocusDpt({
    station,
    workingDistanceMm,
    frequencyPerPx: result.taskFrequencyPerPx,
    mtf: result.mtfAtTask.value,
  });
  const defocus = offDpt === null ? '' : ` A defocus of ${offDpt.toFixed(3)} dpt would explain it;`;
  return `Lower than predicted.${defocus} so would aberrations beyond the stated wavefront error, a tilted target or vibration.`;
}

/** Defocus that lowers the predicted MTF to a measured one; null where none inside one dpt does. */
function equivalentDefocusDpt({
  station,
  workingDistanceMm,
  frequencyPerPx,
  mtf,
}: {
  station: Station;
  workingDistanceMm: number;
  frequencyPerPx: number;
  mtf: number;
}): number | null {
  const bestDpt = requirePredictedPowerDpt({ station, workingDistanceMm });
  const at = (offDpt: number) =>
    predictedMtf({
      station,
      workingDistanceMm,
      focalPowerDpt: bestDpt + offDpt,
      frequenciesPerPx: [frequencyPerPx],
      moving: false,
    })?.[0] ?? 0;
  const steps = 200;
  const first = Array.from({ length: steps }, (_, i) => (i + 1) / steps).find((offDpt) => at(offDpt) <= mtf);
  return first ?? null;
}

function remedyOf(reading: ResolutionReading | undefined): string {
  if (reading?.result.kind === 'refused') return reading.result.remedy;
  if (!reading) return 'Run the commissioning to its end.';
  return 'Check focus over the field, f-number, cleanliness and vibration; then a smaller f-number step, a finer pixel or a longer focal length.';
}
