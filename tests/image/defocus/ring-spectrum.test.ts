import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { ringSpectrometer, ringSpectrometerFast, spectrumRegion } from '../../../src/image/index.js';

const sidePx = 128;
const size = { widthPx: sidePx, heightPx: sidePx };

/** A grey image of 16 bit from a function of place. */
function picture(value: (xPx: number, yPx: number) => number, widthPx = sidePx) {
  const data = Uint16Array.from({ length: widthPx * widthPx }, (_, i) =>
    Math.round(value(i % widthPx, Math.floor(i / widthPx))),
  );
  return { widthPx, heightPx: widthPx, bitDepth: 16, data };
}

describe.each([
  { name: 'readable', spectrometer: ringSpectrometer(size), digits: 9 },
  { name: 'compiled', spectrometer: ringSpectrometerFast(size), digits: 5 },
])('ring spectrum, $name', ({ spectrometer: { rings, measure }, digits }) => {
  it('closed form: white noise has its variance in every ring, within four standard errors', () => {
    const random = seededRandom(3);
    const { powersDn2, meanDn } = measure(
      picture(() => 20000 + 300 * random.normal()),
      { xPx: 0, yPx: 0 },
    );
    expect(meanDn).toBeCloseTo(20000, -2);
    powersDn2.forEach((power, ring) => {
      expect(Math.abs(power / 300 ** 2 - 1), `ring ${ring}`).toBeLessThan(
        4 / Math.sqrt(rings.coefficientCounts[ring]!),
      );
    });
  });

  it('closed form: the count of independent coefficients is what the scatter of white noise shows', () => {
    const random = seededRandom(4);
    const runs = Array.from({ length: 60 }, () =>
      measure(
        picture(() => 20000 + 300 * random.normal()),
        { xPx: 0, yPx: 0 },
      ).powersDn2.map((p) => p / 300 ** 2),
    );
    const ring = 12;
    const variance = runs.reduce((sum, run) => sum + (run[ring]! - 1) ** 2, 0) / runs.length;
    expect(variance * rings.coefficientCounts[ring]!).toBeGreaterThan(0.6);
    expect(variance * rings.coefficientCounts[ring]!).toBeLessThan(1.6);
  });

  it('closed form: a grating of one frequency stands in the ring of that frequency', () => {
    const frequencyPerPx = 16 / sidePx;
    const { powersDn2 } = measure(
      picture((x) => 20000 + 5000 * Math.cos(2 * Math.PI * frequencyPerPx * x)),
      { xPx: 0, yPx: 0 },
    );
    const strongest = powersDn2.indexOf(Math.max(...powersDn2));
    expect(rings.frequenciesPerPx[strongest]).toBeGreaterThan(0.92 * frequencyPerPx);
    expect(rings.frequenciesPerPx[strongest]).toBeLessThan(1.08 * frequencyPerPx);
  });

  it('property: a grating has few coefficients where random texture has all of the ring', () => {
    const random = seededRandom(6);
    const noise = measure(
      picture(() => 20000 + 300 * random.normal()),
      { xPx: 0, yPx: 0 },
    );
    const grating = measure(
      picture((x) => 20000 + 5000 * Math.cos(2 * Math.PI * 0.25 * x)),
      { xPx: 0, yPx: 0 },
    );
    const ring = grating.powersDn2.indexOf(Math.max(...grating.powersDn2));
    expect(noise.coefficientCounts[ring]! / rings.coefficientCounts[ring]!).toBeGreaterThan(0.9);
    expect(grating.coefficientCounts[ring]! / rings.coefficientCounts[ring]!).toBeLessThan(0.05);
  });

  it('property: grey values twice as high have four times the power; a constant does not matter', () => {
    const random = seededRandom(5);
    const texture = Float64Array.from({ length: sidePx ** 2 }, () => 2000 + 200 * random.normal());
    const at = (x: number, y: number) => Math.round(texture[y * sidePx + x]!);
    const plain = measure(picture(at), { xPx: 0, yPx: 0 }).powersDn2;
    const twice = measure(
      picture((x, y) => 2 * at(x, y) + 9000),
      { xPx: 0, yPx: 0 },
    ).powersDn2;
    for (const [ring, power] of twice.entries()) expect(power / plain[ring]!).toBeCloseTo(4, digits);
  });

  it('property: samples of a ring have weights of sum 1 and lie about it', () => {
    rings.samples.forEach((samples, ring) => {
      expect(samples.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
      const mean = samples.reduce((sum, { weight, frequencyPerPx }) => sum + weight * frequencyPerPx, 0);
      expect(Math.abs(mean - rings.frequenciesPerPx[ring]!)).toBeLessThan(1.2 / sidePx + 0.06 * mean);
    });
  });

  it('closed form: the middle of a region, sides powers of two', () => {
    const region = { xPx: 10, yPx: 20, widthPx: 300, heightPx: 130 };
    expect(spectrumRegion(region)).toEqual({ xPx: 32, yPx: 21, widthPx: 256, heightPx: 128 });
    expect(spectrumRegion({ ...region, widthPx: 3000 }).widthPx).toBe(512);
  });
});
