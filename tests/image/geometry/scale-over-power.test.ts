import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { scaleOverPower } from '../../../src/image/index.js';

const measured = (points: Parameters<typeof scaleOverPower>[0]) => {
  const change = scaleOverPower(points);
  if (change.kind !== 'measured') throw new Error(change.message);
  return change;
};

describe('change of scale with focal power', () => {
  it('closed form: two powers give the line through them', () => {
    const change = measured([
      { focalPowerDpt: -1, pixelMm: 0.1, pixelStdMm: 1e-5 },
      { focalPowerDpt: 1, pixelMm: 0.104, pixelStdMm: 1e-5 },
    ]);
    expect(change.meanPowerDpt).toBeCloseTo(0, 12);
    expect(change.pixelMm.value).toBeCloseTo(0.102, 12);
    expect(change.pixelMmPerDpt.value).toBeCloseTo(0.002, 12);
    expect(change.relativePerDpt.value).toBeCloseTo(0.002 / 0.102, 12);
    expect(change.pixelMm.std).toBeCloseTo(1e-5 / Math.SQRT2, 12);
    expect(change.pixelMmPerDpt.std).toBeCloseTo(1e-5 / Math.SQRT2, 12);
    expect(change.reducedChiSquare).toBeNull();
  });

  it('recovery: a hidden slope is found within its deviation, which is larger where points scatter more than stated', () => {
    const random = seededRandom(8);
    let within = 0;
    for (let trial = 0; trial < 200; trial++) {
      const points = Array.from({ length: 9 }, (_, i) => ({
        focalPowerDpt: -2 + i / 2,
        pixelMm: 0.12 * (1 - 0.013 * (-2 + i / 2)) + 4e-6 * random.normal(),
        pixelStdMm: 4e-6,
      }));
      const { relativePerDpt, pixelMmPerDpt } = measured(points);
      if (Math.abs(pixelMmPerDpt.value + 0.12 * 0.013) < 2 * pixelMmPerDpt.std!) within++;
      expect(relativePerDpt.value).toBeCloseTo(-0.013, 3);
    }
    expect(within / 200).toBeGreaterThan(0.9);
    const scattered = [0, 1, 2, 3].map((focalPowerDpt) => ({
      focalPowerDpt,
      pixelMm: 0.1 + (focalPowerDpt % 2) * 1e-4,
      pixelStdMm: 1e-6,
    }));
    expect(measured(scattered).pixelMmPerDpt.std).toBeGreaterThan(1e-5);
  });

  it('refuses frames of one power, none, and a deviation that is not above zero', () => {
    const one = { focalPowerDpt: 0.5, pixelMm: 0.1, pixelStdMm: 1e-5 };
    for (const points of [[], [one], [one, one]]) {
      expect(scaleOverPower(points)).toMatchObject({ kind: 'refused', reason: 'too-few-powers' });
    }
    expect(() => scaleOverPower([{ ...one, pixelStdMm: 0 }, one])).toThrow(/pixelStdMm is 0 mm/);
  });
});
