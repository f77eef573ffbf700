import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { ringSpectrometer, ringSpectrometerFast } from '../../../src/image/index.js';

const sameWithin = 1e-5;

describe.each([
  { widthPx: 256, heightPx: 256, bitDepth: 12 },
  { widthPx: 128, heightPx: 64, bitDepth: 16 },
  { widthPx: 64, heightPx: 128, bitDepth: 8 },
  { widthPx: 16, heightPx: 32, bitDepth: 8 },
])('compiled ring spectrum, $widthPx × $heightPx px of $bitDepth bit', ({ widthPx, heightPx, bitDepth }) => {
  const [readable, compiled] = [ringSpectrometer, ringSpectrometerFast].map((of) => of({ widthPx, heightPx }));
  const random = seededRandom(widthPx + bitDepth);
  const top = 2 ** bitDepth - 1;
  /** A fine grating on waves and noise, inside a larger frame. */
  const strideX = widthPx + 21;
  const length = strideX * (heightPx + 9);
  const value = (_: unknown, i: number) => {
    const [x, y] = [i % strideX, Math.floor(i / strideX)];
    const waves = 0.2 * Math.sin(0.07 * x + 0.11 * y) + 0.1 * Math.cos(1.3 * x) + 0.01 * random.normal();
    return Math.round(top * (0.5 + waves));
  };
  const data = bitDepth === 8 ? Uint8Array.from({ length }, value) : Uint16Array.from({ length }, value);
  const image = { widthPx: strideX, heightPx: heightPx + 9, bitDepth, data };

  it('property: as the readable version, wherever the region lies and however large the scene is drawn', () => {
    for (const place of [
      { xPx: 0, yPx: 0 },
      { xPx: 21, yPx: 9 },
      { xPx: 7, yPx: 4 },
    ]) {
      for (const scaleRatio of [1, 0.97, 1.004, 1.06]) {
        const [one, other] = [readable!, compiled!].map(({ measure }) => measure(image, place, scaleRatio));
        expect(other!.meanDn / one!.meanDn - 1).toBeCloseTo(0, 6);
        one!.powersDn2.forEach((power, ring) => {
          expect(Math.abs(other!.powersDn2[ring]! - power), `ring ${ring}`).toBeLessThanOrEqual(sameWithin * power);
          const counts = [one, other].map((spectrum) => spectrum!.coefficientCounts[ring]!);
          expect(Math.abs(counts[1]! - counts[0]!), `ring ${ring}`).toBeLessThanOrEqual(sameWithin * counts[0]!);
        });
      }
    }
  });

  it('property: a frame leaves nothing behind for the next', () => {
    const place = { xPx: 3, yPx: 2 };
    const first = compiled!.measure(image, place);
    compiled!.measure(image, { xPx: 9, yPx: 8 }, 1.02);
    expect(compiled!.measure(image, place)).toEqual(first);
  });

  it('degenerate: a flat region has no power but rounding', () => {
    const flat = { ...image, data: image.data.map(() => 200) };
    const { powersDn2, meanDn } = compiled!.measure(flat, { xPx: 0, yPx: 0 });
    expect(meanDn).toBeCloseTo(200, 3);
    for (const power of powersDn2) expect(power).toBeLessThan(1e-8);
  });
});

describe('compiled ring spectrum', () => {
  it('refuses sides that are no power of two, or too small', () => {
    expect(() => ringSpectrometerFast({ widthPx: 48, heightPx: 64 })).toThrow(
      'widthPx is 48 px; allowed: a power of two',
    );
    expect(() => ringSpectrometerFast({ widthPx: 64, heightPx: 8 })).toThrow('heightPx');
  });
});
