import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { driftSums, expectPart } from '../../../src/procedures/autofocus/part-expectation.js';

const forecast = { focalPowerDpt: 1, focalPowerStdDpt: 0.1 };
const part = (number: number, offDpt: number) => ({ number, focalPowerDpt: 1 + offDpt, forecast });

describe('expectation of a part', () => {
  it('closed form: no part yet: the forecast; one part 0.2 off: half of the shift is believed, √1.5 times the width', () => {
    expect(expectPart({ forecast, found: [], rangeDpt: 5 })).toEqual({ ...forecast, from: 'distance' });
    const after = expectPart({ forecast, found: [part(1, 0.2)], rangeDpt: 5 })!;
    expect(after.focalPowerDpt).toBeCloseTo(1.1, 12);
    expect(after.focalPowerStdDpt).toBeCloseTo(0.1 * Math.sqrt(1.5), 12);
  });

  it('closed form: without distance the next part is like the last, by range/√12 after one, by the steps after more', () => {
    const at = (number: number, focalPowerDpt: number) => ({ number, focalPowerDpt, forecast: null });
    expect(expectPart({ forecast: null, found: [], rangeDpt: 6 })).toBeNull();
    expect(expectPart({ forecast: null, found: [at(1, 0.4)], rangeDpt: 6 })).toEqual({
      focalPowerDpt: 0.4,
      focalPowerStdDpt: Math.sqrt(3),
      from: 'last-part',
    });
    const two = expectPart({ forecast: null, found: [at(1, 0.4), at(2, 1.4)], rangeDpt: 6 })!;
    expect(two.focalPowerDpt).toBe(1.4);
    expect(two.focalPowerStdDpt).toBeCloseTo(Math.sqrt((3 + 1) / 2), 12);
  });

  it('recovery: the stated width is that of the parts: 95 % of drawn runs end within 1.96 of it', () => {
    const random = seededRandom(7);
    let inside = 0;
    const runs = 4000;
    for (let run = 0; run < runs; run++) {
      const shift = 0.1 * random.normal();
      const draw = (number: number) => part(number, shift + 0.06 * random.normal());
      const found = Array.from({ length: 8 }, (_, i) => draw(i + 1));
      const { focalPowerDpt, focalPowerStdDpt } = expectPart({ forecast, found, rangeDpt: 5 })!;
      if (Math.abs(draw(9).focalPowerDpt - focalPowerDpt) < 1.96 * focalPowerStdDpt) inside++;
    }
    expect(inside / runs).toBeGreaterThan(0.94);
    expect(inside / runs).toBeLessThan(0.985);
  });
});

describe('drift over the parts', () => {
  it('closed form: a straight line is found exactly; two parts tell none', () => {
    const sums = driftSums();
    sums.take(part(1, 0.01));
    sums.take(part(2, 0.02));
    expect(sums.drift()).toBeNull();
    sums.take(part(4, 0.04));
    const { changeDpt, changeStdDpt } = sums.drift()!;
    expect(changeDpt).toBeCloseTo(0.01, 12);
    expect(changeStdDpt).toBeCloseTo(0, 6);
  });

  it('recovery: slope and its standard deviation under scatter, over many drawn runs', () => {
    const random = seededRandom(3);
    const zs = Array.from({ length: 2000 }, () => {
      const sums = driftSums();
      for (let n = 1; n <= 20; n++) sums.take(part(n, 0.003 * n + 0.05 * random.normal()));
      const { changeDpt, changeStdDpt } = sums.drift()!;
      return (changeDpt - 0.003) / changeStdDpt;
    });
    const mean = zs.reduce((a, b) => a + b, 0) / zs.length;
    const std = Math.sqrt(zs.reduce((a, z) => a + (z - mean) ** 2, 0) / zs.length);
    // Student's t with 18 degrees of freedom: standard deviation √(18/16).
    expect(Math.abs(mean)).toBeLessThan(0.08);
    expect(std).toBeGreaterThan(1.0);
    expect(std).toBeLessThan(1.13);
  });
});
