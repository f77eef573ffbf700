import { bracketedRoot, defocusOtf } from '../../optics/index.js';

/** Steps of the table over frequency and over the root of the contrast that may be lost. */
const frequencySteps = 96;
const lossSteps = 96;
const lowestFrequency = 0.01;
/** The table is taken wider by this, so that it never falls short. */
const safety = 1.004;

/** Rows of the table, each filled when a layout first has such a frequency. */
const rows: (Float64Array | undefined)[] = [];

/**
 * Defocus at which the contrast has fallen to a share of that in focus, never too small.
 *
 * Model    defocused circular pupil; table over normalised frequency and √(1 − share), linear between its values
 * Returns  waves, at most 0.8 % too many; Infinity below a hundredth of the cutoff, where the table ends
 * Checked  property: above the exact crossing, tests/planning/search/bounds.test.ts
 */
export function defocusWavesAtShare(normalisedFrequency: number, share: number): number {
  if (share >= 1) return 0;
  if (normalisedFrequency <= lowestFrequency) return Number.POSITIVE_INFINITY;
  if (normalisedFrequency >= 1) return 0;
  const s = Math.min(normalisedFrequency, 1 - lowestFrequency);
  const row = ((s - lowestFrequency) / (1 - 2 * lowestFrequency)) * frequencySteps;
  const column = Math.sqrt(1 - Math.max(0, share)) * lossSteps;
  const r = Math.min(Math.floor(row), frequencySteps - 1);
  const c = Math.min(Math.floor(column), lossSteps - 1);
  const lower = rows[r] ?? filledRow(r);
  const upper = rows[r + 1] ?? filledRow(r + 1);
  const y = row - r;
  const x = column - c;
  const low = lower[c]! * (1 - x) + lower[c + 1]! * x;
  const high = upper[c]! * (1 - x) + upper[c + 1]! * x;
  return (safety * (low * (1 - y) + high * y)) / (s * (1 - s));
}

/** Crossings at one frequency, times s·(1 − s), which hardly changes with the frequency. */
function filledRow(row: number): Float64Array {
  const values = new Float64Array(lossSteps + 1);
  const s = lowestFrequency + (row / frequencySteps) * (1 - 2 * lowestFrequency);
  const inFocus = defocusOtf({ normalisedFrequency: s, defocusWaves: 0 });
  const stepWaves = 0.02 / (s * (1 - s));
  let waves = 0;
  for (let column = 1; column <= lossSteps; column++) {
    const share = 1 - (column / lossSteps) ** 2;
    const above = (defocusWaves: number) => defocusOtf({ normalisedFrequency: s, defocusWaves }) - share * inFocus;
    let next = waves + stepWaves;
    while (above(next) > 0) next += stepWaves;
    waves = bracketedRoot({ of: above, low: waves, high: next, tolerance: 1e-5 * next });
    values[column] = waves * s * (1 - s);
  }
  rows[row] = values;
  return values;
}
