import { describe, expect, it } from 'vitest';
import { pupilShapeOtf } from '../../../src/optics/index.js';
import { comaPupilOtf, directionCount } from '../../../src/twin/render/coma-pupil-otf.js';
import { frequencyOfSample, pupilOtf, rowLength } from '../../../src/twin/render/pupil-otf.js';

const emptyRows = () =>
  Array.from({ length: directionCount }, () => ({
    real: new Float64Array(rowLength),
    imaginary: new Float64Array(rowLength),
  }));
const highestS = 0.9;

describe('pupil with coma', () => {
  it('reference: modulus of the general pupil integral of src/optics, along, across and between, in and out of focus', () => {
    for (const [comaWaves, defocusWaves] of [
      [0.4, 0],
      [0.8, 0.7],
      [2, -1.5],
    ] as const) {
      const rows = emptyRows();
      comaPupilOtf({ sphericalWaves: 0, comaWaves, highestS }).addRows(rows, { defocusWaves, weight: 1 });
      for (const direction of [0, 5, directionCount - 1]) {
        for (const sample of [40, 120, 200, 300, 360]) {
          const { real, imaginary } = pupilShapeOtf({
            normalisedFrequency: frequencyOfSample(sample, highestS),
            discs: [{ centreX: 0, centreY: 0, radius: 1 }],
            defocusWaves,
            comaWaves,
            comaAzimuthRad: (direction / (directionCount - 1)) * (Math.PI / 2),
          });
          const row = rows[direction]!;
          const modulus = Math.hypot(row.real[sample]!, row.imaginary[sample]!);
          expect(Math.abs(modulus - Math.hypot(real, imaginary))).toBeLessThan(1e-4);
        }
      }
    }
  });

  it('degenerate: without coma every direction is the round pupil, spherical aberration included', () => {
    const rows = emptyRows();
    const at = { defocusWaves: 1.3, weight: 0.7 };
    comaPupilOtf({ sphericalWaves: 0.6, comaWaves: 0, highestS }).addRows(rows, at);
    const round = new Float64Array(rowLength);
    pupilOtf({ sphericalWaves: 0.6, highestS }).addRow(round, at);
    for (const { real, imaginary } of rows) {
      for (let i = 0; i < rowLength; i += 13) {
        expect(real[i]).toBeCloseTo(round[i]!, 5);
        expect(imaginary[i]).toBeCloseTo(0, 5);
      }
    }
  });

  it('property: across the coma the transfer function is real, so that its conjugate joins on', () => {
    const rows = emptyRows();
    comaPupilOtf({ sphericalWaves: 0.2, comaWaves: 1, highestS }).addRows(rows, { defocusWaves: 0.4, weight: 1 });
    for (const value of rows[directionCount - 1]!.imaginary) expect(Math.abs(value)).toBeLessThan(1e-6);
  });
});
