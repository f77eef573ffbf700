import { describe, expect, it } from 'vitest';
import { aberratedOtf, defocusOtf } from '../../../src/optics/index.js';
import { fastPupilOtf } from '../../../src/twin/render/pupil-otf.fast.js';
import { frequencyOfSample, pupilOtf, rowLength } from '../../../src/twin/render/pupil-otf.js';

const rowAt = (sphericalWaves: number, defocusWaves: number, highestS = 0.9) => {
  const row = new Float64Array(rowLength);
  pupilOtf({ sphericalWaves, highestS }).addRow(row, { defocusWaves, weight: 1 });
  return row;
};
const someSamples = Array.from({ length: 25 }, (_, i) => 1 + i * 15);

describe('pupil transfer function', () => {
  it.each([0, 0.25, -0.75, 1, 3, -12, 60, 100])(
    'reference: without spherical aberration equal to defocusOtf at %d waves',
    (defocusWaves) => {
      const row = rowAt(0, defocusWaves);
      for (const i of someSamples) {
        const expected = defocusOtf({ normalisedFrequency: frequencyOfSample(i, 0.9), defocusWaves });
        expect(Math.abs(row[i]! - expected)).toBeLessThan(1e-6);
      }
    },
  );

  it.each([
    [0.7, 0],
    [0.7, -0.7],
    [-1.2, 2],
    [2.5, -4],
    [-0.4, 9],
  ])('reference: equal to aberratedOtf of src/optics at W040 = %d and W20 = %d', (sphericalWaves, defocusWaves) => {
    const row = rowAt(sphericalWaves, defocusWaves);
    for (const i of someSamples) {
      const normalisedFrequency = frequencyOfSample(i, 0.9);
      const expected = aberratedOtf({ normalisedFrequency, defocusWaves, sphericalWaves });
      expect(Math.abs(row[i]! - expected)).toBeLessThan(1e-6);
    }
  });

  it('reference: the signed values of the table of Hopkins’s integral, contrast reversal included', () => {
    // references/tables/defocus-otf.json: W20 = 1, s = 0.2 and 0.3; W20 = 2, s = 0.1
    const at = (waves: number, s: number) => {
      const row = new Float64Array(rowLength);
      pupilOtf({ sphericalWaves: 0, highestS: s }).addRow(row, { defocusWaves: waves, weight: 1 });
      return row[rowLength - 1]!;
    };
    expect(at(1, 0.2)).toBeCloseTo(-0.01441, 5);
    expect(at(1, 0.3)).toBeCloseTo(-0.06952, 5);
    expect(at(2, 0.1)).toBeCloseTo(-0.08396, 5);
  });

  it('property: kept rows equal it between the rows, on both sides of focus', () => {
    for (const [sphericalWaves, defocusWaves] of [
      [0, 0],
      [0.3, 0.031],
      [0.3, -0.53],
      [-0.8, 3.72],
      [0, -27.9],
      [0.5, 118.77],
    ] as const) {
      const exact = rowAt(sphericalWaves, defocusWaves);
      const row = new Float64Array(rowLength);
      fastPupilOtf({ sphericalWaves, highestS: 0.9 }).addRow(row, { defocusWaves, weight: 1 });
      const worst = row.reduce((most, value, i) => Math.max(most, Math.abs(value - exact[i]!)), 0);
      expect(worst).toBeLessThan(1e-4);
    }
  });

  it('degenerate: beyond 120 waves the row is that of 120 waves', () => {
    expect(rowAt(0, 500)).toEqual(rowAt(0, 120));
  });
});
