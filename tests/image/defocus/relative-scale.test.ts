import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { type GreyImage, relativeScale, ringSpectrometer } from '../../../src/image/index.js';

const sidePx = 288;
const region = { xPx: 16, yPx: 16, widthPx: 256, heightPx: 256 };

/** Waves of many directions, weaker the finer; a blur disc takes its share of each (closed form, small discs). */
function picture({
  growth = 1,
  acrossPx = 0,
  blurRadiusPx = 0,
  seed = 1,
}: {
  growth?: number;
  acrossPx?: number;
  blurRadiusPx?: number;
  seed?: number;
}): GreyImage {
  const random = seededRandom(seed);
  const waves = Array.from({ length: 120 }, () => {
    const perPx = 0.006 * 20 ** random.uniform();
    const angle = Math.PI * random.uniform();
    const u = 2 * Math.PI * perPx * Math.cos(angle);
    const v = 2 * Math.PI * perPx * Math.sin(angle);
    // A Gaussian of the disc's second moment, R²/4 an axis.
    const kept = Math.exp((-(blurRadiusPx ** 2) / 8) * (u * u + v * v));
    return { u, v, phase: 2 * Math.PI * random.uniform(), height: (0.05 / perPx) * kept };
  });
  const middle = sidePx / 2;
  const data = Uint16Array.from({ length: sidePx * sidePx }, (_, i) => {
    const x = ((i % sidePx) - middle - acrossPx) / growth;
    const y = (Math.floor(i / sidePx) - middle) / growth;
    let value = 0;
    for (const { u, v, phase, height } of waves) value += height * Math.cos(u * x + v * y + phase);
    return Math.round(2000 + 20 * value + 4 * random.normal());
  });
  return { widthPx: sidePx, heightPx: sidePx, bitDepth: 12, data };
}

describe('change of scale between two frames', () => {
  it.each([
    { growth: 1.03, acrossPx: 0, blurRadiusPx: 0 },
    { growth: 0.95, acrossPx: 3, blurRadiusPx: 0 },
    { growth: 1.07, acrossPx: -4, blurRadiusPx: 12 },
    { growth: 1, acrossPx: 2, blurRadiusPx: 20 },
    { growth: 1.14, acrossPx: 2, blurRadiusPx: 6 },
    { growth: 0.86, acrossPx: 0, blurRadiusPx: 0 },
  ])('recovery: $growth, shifted by $acrossPx px, blurred by $blurRadiusPx px', (change) => {
    for (const seed of [1, 2]) {
      const scale = relativeScale({ first: picture({ seed }), second: picture({ seed, ...change }), region });
      expect(scale?.scaleRatio, `seed ${seed}`).toBeGreaterThan(change.growth - 0.004);
      expect(scale?.scaleRatio, `seed ${seed}`).toBeLessThan(change.growth + 0.004);
      expect(scale?.scaleStd).toBeLessThan(0.004);
    }
  });

  it('degenerate: a flat picture tells nothing', () => {
    const flat: GreyImage = {
      widthPx: sidePx,
      heightPx: sidePx,
      bitDepth: 8,
      data: new Uint8Array(sidePx ** 2).fill(90),
    };
    expect(relativeScale({ first: flat, second: flat, region })).toBeNull();
  });

  it('property: rings of a scene drawn larger are those of the scene, with the square of the growth as much in each', () => {
    const spectrometer = ringSpectrometer({ widthPx: 256, heightPx: 256 });
    const place = { xPx: 16, yPx: 16 };
    const own = spectrometer.measure(picture({}), place);
    const larger = picture({ growth: 1.06 });
    const off = (scaleRatio: number): number => {
      const { powersDn2 } = spectrometer.measure(larger, place, scaleRatio);
      let sum = 0;
      for (let ring = 2; ring < 16; ring++)
        sum += Math.abs(Math.log(powersDn2[ring]! / scaleRatio ** 2 / own.powersDn2[ring]!));
      return sum;
    };
    expect(off(1.06)).toBeLessThan(0.6 * off(1));
  });
});
