import {
  type EdgeMeasured,
  type FoundEdge,
  findEdges,
  type GreyImage,
  measureEdge,
  mtfAt,
  type Region,
} from '../../image/index.js';
import {
  predictedMagnification,
  predictedMtf,
  type ResolutionReading,
  type Station,
  taskFrequencyPerPx,
} from '../../station/index.js';
import { requirePredictedPowerDpt } from '../focus-half-width.js';

/** What a reading holds beside name, place and frame. */
export type ResolutionResult = ResolutionReading['result'];

/** How many edges of a frame are measured before the best is taken. */
const mostEdges = 6;
/** Frequencies of the comparison: 0 … 0.5 cycles per pixel. */
const frequenciesPerPx = Array.from({ length: 51 }, (_, i) => i / 100);

/**
 * Measures the best edge in the middle of a frame and puts the prediction beside it.
 *
 * Model    every edge found in the region is measured, both orientations; the one with the least uncertainty at the task's
 *          frequency is kept. The prediction is that of the station as written, for a target at rest and the known
 *          offset from best focus; the uncertainty of focus counts as the loss of contrast one standard deviation
 *          farther off.
 * Returns  the reading, or a refusal with its reason (no edge, each edge unusable, task frequency beyond the sensor).
 * Trust    the prediction is on the axis; off axis it is an upper limit. Coma counts in its worst direction.
 */
export function compareEdge({
  station,
  image,
  region,
  workingDistanceMm,
  offBestFocusDpt,
  focusStdDpt,
}: {
  station: Station;
  image: GreyImage;
  region: Region;
  workingDistanceMm: number;
  /** Commanded power less that of best focus by the calibration. */
  offBestFocusDpt: number;
  focusStdDpt: number;
}): ResolutionResult {
  const magnification = predictedMagnification({ station, workingDistanceMm }) ?? 0;
  const taskFrequency = taskFrequencyPerPx({ station, magnification });
  if (!(taskFrequency <= 0.5)) {
    return {
      kind: 'refused',
      reason: `The task frequency falls on ${taskFrequency.toFixed(2)} cycles/px, beyond what the sensor can sample (0.5).`,
      remedy:
        'Choose a longer focal length, a shorter distance or a finer pixel, or ask for a larger smallest feature.',
    };
  }
  const best = bestEdge(image, region, taskFrequency);
  if (best.kind === 'refused') return best;
  const { edge, found } = best;
  const atTask = mtfAt(edge.mtf, taskFrequency)!;
  const predicted = predictAt({
    station,
    workingDistanceMm,
    offBestFocusDpt,
    frequencies: [taskFrequency, ...frequenciesPerPx],
  });
  const fartherDpt = Math.abs(offBestFocusDpt) + focusStdDpt;
  const [farther] = predictAt({
    station,
    workingDistanceMm,
    offBestFocusDpt: fartherDpt,
    frequencies: [taskFrequency],
  });
  const predictedCurve = frequenciesPerPx.map((frequencyPerPx, i) => ({ frequencyPerPx, value: predicted[i + 1]! }));
  return {
    kind: 'measured',
    orientation: edge.orientation,
    edgeAngleDeg: edge.edgeAngleDeg,
    region: found.region,
    mtf: edge.mtf.filter(({ frequencyPerPx }) => frequencyPerPx <= 0.5 + 1e-9),
    predictedMtf: predictedCurve,
    edgeSpread: edge.edgeSpreadFunction.map(({ distancePx, measured, fitted }) => ({
      positionPx: distancePx,
      value: measured ?? fitted,
    })),
    mtf50PerPx: edge.mtf50PerPx === null ? null : { value: edge.mtf50PerPx, std: edge.mtf50StdPerPx },
    predictedMtf50PerPx: fallsThroughHalfPerPx(predictedCurve),
    mtfAtTask: { value: atTask.value, std: Math.hypot(atTask.std, predicted[0]! - farther!) },
    predictedMtfAtTask: predicted[0]!,
    taskFrequencyPerPx: taskFrequency,
  };
}

function bestEdge(
  image: GreyImage,
  region: Region,
  taskFrequency: number,
): { kind: 'edge'; edge: EdgeMeasured; found: FoundEdge } | Extract<ResolutionResult, { kind: 'refused' }> {
  const candidates = findEdges({ image, region, mostEdges });
  const measured: { edge: EdgeMeasured; found: FoundEdge; std: number }[] = [];
  const refusals: { message: string; remedy: string }[] = [];
  for (const found of candidates) {
    const edge = measureEdge({ image, region: found.region });
    if (edge.kind === 'refused') refusals.push(edge);
    else measured.push({ edge, found, std: mtfAt(edge.mtf, taskFrequency)?.std ?? Number.POSITIVE_INFINITY });
  }
  const [best] = measured.sort((a, b) => a.std - b.std);
  if (best) return { kind: 'edge', ...best };
  const [first] = refusals;
  if (first)
    return {
      kind: 'refused',
      reason: `No edge of ${refusals.length} is usable; the best: ${first.message}`,
      remedy: first.remedy,
    };
  return {
    kind: 'refused',
    reason: 'No slanted edge was found in the middle of the frame.',
    remedy: 'Put a straight edge between dark and bright, tilted by 3 to 10 degrees, into the middle of the field.',
  };
}

function predictAt({
  station,
  workingDistanceMm,
  offBestFocusDpt,
  frequencies,
}: {
  station: Station;
  workingDistanceMm: number;
  offBestFocusDpt: number;
  frequencies: readonly number[];
}): number[] {
  const focalPowerDpt = requirePredictedPowerDpt({ station, workingDistanceMm }) + offBestFocusDpt;
  return (
    predictedMtf({ station, workingDistanceMm, focalPowerDpt, frequenciesPerPx: frequencies, moving: false }) ?? []
  );
}

/** Lowest frequency at which a curve falls through one half; null where it stays above. */
function fallsThroughHalfPerPx(curve: readonly { frequencyPerPx: number; value: number }[]): number | null {
  const at = curve.findIndex(({ value }) => value < 0.5);
  if (at < 1) return null;
  const [a, b] = [curve[at - 1]!, curve[at]!];
  return a.frequencyPerPx + ((b.frequencyPerPx - a.frequencyPerPx) * (a.value - 0.5)) / (a.value - b.value);
}
