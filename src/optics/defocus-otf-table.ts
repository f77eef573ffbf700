import { requireNotNegative, requireNumber } from '../base/index.js';
import { defocusQuadrature } from './defocus-otf.js';
import { sixPointWeights } from './six-point-interpolation.js';

/** Steps of defocus per wave; the function of W holds no faster ripple than one period a wave. */
const stepsPerWave = 32;

/** The transfer function at fixed frequencies, ready for any defocus: for fits that try many. */
export interface DefocusOtfTable {
  readonly normalisedFrequencies: Float64Array;
  readonly maxDefocusWaves: number;
  /** OTF at every frequency into `otf`, for one defocus within ± maxDefocusWaves. Some nanoseconds a frequency. */
  readAll(defocusWaves: number, otf: Float64Array): void;
}

/**
 * Fills a table of defocusOtf over defocus, at the frequencies of a fit.
 *
 * Model    as defocusOtf, sampled every 1/32 wave by a cosine recurrence; six-point interpolation, even in W
 * Returns  see DefocusOtfTable; within 1e-6 of defocusOtf.
 * Cost     filling: about 0.2 ms a frequency for 60 waves; memory 8 bytes × frequencies × 32 × waves.
 * Throws   RangeError naming the field, if a frequency is negative or not finite or the defocus limit not > 0; readAll
 *          throws RangeError beyond that limit.
 * Checked  property: within 1e-6 of defocusOtf up to 60 waves, tests/optics/defocus-otf-table.test.ts
 */
export function defocusOtfTable({
  normalisedFrequencies,
  maxDefocusWaves,
}: {
  normalisedFrequencies: ArrayLike<number>;
  maxDefocusWaves: number;
}): DefocusOtfTable {
  requireNumber('maxDefocusWaves', maxDefocusWaves, { above: 0, unit: 'waves' });
  const frequencies = Float64Array.from(normalisedFrequencies);
  const count = frequencies.length;
  const rows = Math.ceil(maxDefocusWaves * stepsPerWave) + 4;
  const samples = new Float64Array(rows * count);
  frequencies.forEach((s, column) => {
    fillColumn({ samples, rows, count, column, s, maxDefocusWaves: rows / stepsPerWave });
  });
  const weights = new Float64Array(6);
  return {
    normalisedFrequencies: frequencies,
    maxDefocusWaves,
    readAll(defocusWaves, otf) {
      requireNumber('defocusWaves', defocusWaves, { min: -maxDefocusWaves, max: maxDefocusWaves, unit: 'waves' });
      const place = Math.abs(defocusWaves) * stepsPerWave;
      const first = Math.floor(place) - 2;
      sixPointWeights(place - first, weights);
      const [w0, w1, w2, w3, w4, w5] = weights as unknown as [number, number, number, number, number, number];
      const at = (k: number) => Math.abs(first + k) * count;
      const [r0, r1, r2, r3, r4, r5] = [at(0), at(1), at(2), at(3), at(4), at(5)];
      for (let i = 0; i < count; i++) {
        otf[i] =
          w0 * samples[r0 + i]! +
          w1 * samples[r1 + i]! +
          w2 * samples[r2 + i]! +
          w3 * samples[r3 + i]! +
          w4 * samples[r4 + i]! +
          w5 * samples[r5 + i]!;
      }
    },
  };
}

/** One frequency at W = 0, 1/32, 2/32 …, by cos((n+1)θ) = 2·cos θ·cos nθ − cos((n−1)θ) at every node of the quadrature. */
function fillColumn({
  samples,
  rows,
  count,
  column,
  s,
  maxDefocusWaves,
}: {
  samples: Float64Array;
  rows: number;
  count: number;
  column: number;
  s: number;
  maxDefocusWaves: number;
}): void {
  requireNotNegative('normalisedFrequencies', s);
  if (s >= 1) return;
  const { weights, phasesPerWaveRad } = defocusQuadrature({ normalisedFrequency: s, maxDefocusWaves });
  const doubleCosines = phasesPerWaveRad.map((phase) => 2 * Math.cos(phase / stepsPerWave));
  const previous = weights.map((weight, j) => (weight * doubleCosines[j]!) / 2);
  const current = Float64Array.from(weights);
  for (let row = 0; row < rows; row++) {
    let sum = 0;
    for (let j = 0; j < current.length; j++) {
      const value = current[j]!;
      sum += value;
      current[j] = doubleCosines[j]! * value - previous[j]!;
      previous[j] = value;
    }
    samples[row * count + column] = sum;
  }
}
