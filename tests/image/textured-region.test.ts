import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { type GreyImage, texturedRegion } from '../../src/image/index.js';

const [widthPx, heightPx] = [512, 384];
const sizePx = { widthPx: 128, heightPx: 128 };

/** A field of grey with noise, and in it patches of texture of their own contrast and coarseness. */
function field({
  patches,
  seed = 1,
  meanDn = 90,
  noiseDn = 2,
  spoil = () => null,
}: {
  patches: { xPx: number; yPx: number; sidePx: number; contrastDn: number; grainPx: number }[];
  seed?: number;
  meanDn?: number;
  noiseDn?: number;
  spoil?: (x: number, y: number) => number | null;
}): GreyImage {
  const random = seededRandom(seed);
  const data = new Uint8Array(widthPx * heightPx);
  const grains = patches.map(({ sidePx, grainPx }) => {
    const count = Math.ceil(sidePx / grainPx);
    return { count, values: Float64Array.from({ length: count ** 2 }, () => random.normal()) };
  });
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      let value = meanDn;
      patches.forEach(({ xPx, yPx, sidePx, contrastDn, grainPx }, i) => {
        const [dx, dy] = [x - xPx, y - yPx];
        if (dx < 0 || dy < 0 || dx >= sidePx || dy >= sidePx) return;
        const { count, values } = grains[i]!;
        value += contrastDn * values[Math.floor(dy / grainPx) * count + Math.floor(dx / grainPx)]!;
      });
      value = spoil(x, y) ?? value + noiseDn * random.normal();
      data[y * widthPx + x] = Math.max(0, Math.min(255, Math.round(value)));
    }
  }
  return { widthPx, heightPx, bitDepth: 8, data };
}

const overlap = (region: { xPx: number; yPx: number }, patch: { xPx: number; yPx: number }) =>
  Math.max(0, 128 - Math.abs(region.xPx - patch.xPx)) * Math.max(0, 128 - Math.abs(region.yPx - patch.yPx));

describe('region by texture', () => {
  it('recovery: the textured patch is found in a plain, noisy field, in good and in little light', () => {
    for (const [seed, place] of [
      { xPx: 320, yPx: 30 },
      { xPx: 40, yPx: 200 },
      { xPx: 200, yPx: 128 },
    ].entries()) {
      for (const light of [{}, { meanDn: 12, noiseDn: 3 }]) {
        const contrastDn = 'meanDn' in light ? 4 : 12;
        const image = field({ seed: seed + 1, patches: [{ ...place, sidePx: 128, contrastDn, grainPx: 3 }], ...light });
        const found = texturedRegion({ images: [image], sizePx })!;
        expect(overlap(found.region, place) / 128 ** 2).toBeGreaterThan(0.7);
        expect(found.detailRatio).toBeGreaterThan(0.5);
      }
    }
  });

  it('recovery: texture so blurred that coarse grain alone is left still wins', () => {
    const place = { xPx: 352, yPx: 224 };
    const image = field({ patches: [{ ...place, sidePx: 128, contrastDn: 3, grainPx: 24 }] });
    expect(overlap(texturedRegion({ images: [image], sizePx })!.region, place) / 128 ** 2).toBeGreaterThan(0.5);
  });

  it('recovery: of two frames the sharper one counts where it is sharper', () => {
    const place = { xPx: 32, yPx: 32 };
    const sharp = field({ patches: [{ ...place, sidePx: 128, contrastDn: 15, grainPx: 2 }] });
    const blurred = field({ patches: [], seed: 9 });
    for (const images of [
      [sharp, blurred],
      [blurred, sharp],
    ]) {
      expect(overlap(texturedRegion({ images, sizePx })!.region, place) / 128 ** 2).toBeGreaterThan(0.7);
    }
  });

  it('property: texture all over beats one hard border; saturated and black places are not chosen', () => {
    const place = { xPx: 320, yPx: 192 };
    const patches = [{ ...place, sidePx: 128, contrastDn: 10, grainPx: 3 }];
    const border = field({ patches, spoil: (x, y) => (x < 96 && y < 300 ? 20 + ((x + y) % 3) : null) });
    expect(overlap(texturedRegion({ images: [border], sizePx })!.region, place) / 128 ** 2).toBeGreaterThan(0.6);
    const bright = field({
      patches: [...patches, { xPx: 0, yPx: 0, sidePx: 192, contrastDn: 40, grainPx: 4 }],
      spoil: (x, y) => (x < 192 && y < 192 && (x * 7 + y * 3) % 11 < 3 ? 255 : null),
    });
    expect(overlap(texturedRegion({ images: [bright], sizePx })!.region, place) / 128 ** 2).toBeGreaterThan(0.6);
  });

  it('degenerate: on a plain field no window gains over the middle; nothing where all is saturated or black', () => {
    const { region, gainedRatio } = texturedRegion({ images: [field({ patches: [] })], sizePx })!;
    // Noise alone: a block's ln(1 + ratio) scatters by about 0.25, a window of 16 by 0.06; the greatest of 117 less one: 4 σ.
    expect(gainedRatio).toBeLessThan(0.25);
    expect(region).toMatchObject(sizePx);
    for (const value of [0, 255]) {
      expect(texturedRegion({ images: [field({ patches: [], spoil: () => value })], sizePx })).toBeNull();
    }
  });

  it('refuses no image, images of different size, and windows that do not fit', () => {
    const image = field({ patches: [] });
    expect(() => texturedRegion({ images: [], sizePx })).toThrow('images is empty');
    expect(() => texturedRegion({ images: [image, { ...image, heightPx: 200 }], sizePx })).toThrow('different sizes');
    expect(() => texturedRegion({ images: [image], sizePx: { widthPx: 16, heightPx: 128 } })).toThrow('sizePx.widthPx');
    expect(() => texturedRegion({ images: [image], sizePx: { widthPx: 128, heightPx: 999 } })).toThrow(
      'sizePx.heightPx',
    );
  });
});
