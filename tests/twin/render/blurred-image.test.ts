import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { type Blur, type BlurredImager, radialEntryCount } from '../../../src/twin/render/blur.js';
import { fastBlurredImager } from '../../../src/twin/render/blurred-image.fast.js';
import { blurredImager } from '../../../src/twin/render/blurred-image.js';
import { directionCount } from '../../../src/twin/render/coma-pupil-otf.js';
import { frameKernel } from '../../../src/twin/render/frame-kernel.js';
import { polarRadiusCount } from '../../../src/twin/render/polar-transfer.js';
import { highestFrequencyPerMm, type RenderGrid, renderGrid } from '../../../src/twin/render/render-grid.js';

const size = { widthPx: 37, heightPx: 30 };
const grid = renderGrid({
  ...size,
  pixelPitchMm: 0.005,
  magnificationMin: 0.05,
  magnificationMax: 0.053,
  highestPerPx: 0.9,
  marginPx: 0,
});

function blurWith(transfer: (frequencyPerMm: number) => number, pixelOnObjectMm = 0.0978): Blur {
  const highest = highestFrequencyPerMm(grid);
  return {
    radialTransfer: Float32Array.from({ length: radialEntryCount }, (_, i) =>
      transfer((i / (radialEntryCount - 1)) * highest),
    ),
    polarTransfer: null,
    columnTransfer: new Float32Array(grid.halfColumnCount + 1).fill(1),
    rowTransfer: new Float32Array(grid.halfRowCount + 1).fill(1),
    pixelOnObjectMm,
  };
}

/** Samples of 0.5 + 0.4·cos(2π(kx·x/W + ky·y/H) + 0.7) at the middles of the cells. */
function wave(kx: number, ky: number): Float32Array {
  const { gridColumnCount: n, gridRowCount: m } = grid;
  return Float32Array.from({ length: n * m }, (_, i) => {
    const x = ((i % n) + 0.5) / n;
    const y = (Math.floor(i / n) + 0.5) / m;
    return 0.5 + 0.4 * Math.cos(2 * Math.PI * (kx * x + ky * y) + 0.7);
  });
}

function imageOf(imager: BlurredImager, scene: Float32Array, blur: Blur): number[] {
  imager.loadScene(grid, scene);
  const image = imager.image(blur);
  return Array.from({ length: size.widthPx * size.heightPx }, (_, i) => {
    const row = Math.floor(i / size.widthPx);
    return image[row * imager.strideCount + (i % size.widthPx)]!;
  });
}

const versions: [string, () => BlurredImager, number][] = [
  ['readable', () => blurredImager(size), 2e-6],
  ['fast', () => fastBlurredImager({ kernel: frameKernel(), ...size }), 2e-4],
];

describe.each(versions)('blurred image, %s version', (_name, imagerOf, tolerance) => {
  it.each([
    [0, 0],
    [5, 0],
    [0, 7],
    [12, -9],
    [33, 20],
    [50, 3],
  ])('closed form: the wave (%d, %d) comes out with the contrast of the transfer function, in its place', (kx, ky) => {
    const transfer = (frequency: number) => Math.cos(0.7 * frequency) * Math.exp(-0.05 * frequency);
    const frequency = Math.hypot(kx / grid.periodWidthMm, ky / grid.periodHeightMm);
    const image = imageOf(imagerOf(), wave(kx, ky), blurWith(transfer));
    let worst = 0;
    for (let row = 0; row < size.heightPx; row++) {
      for (let column = 0; column < size.widthPx; column++) {
        const x = 0.5 + ((column - (size.widthPx - 1) / 2) * 0.0978) / grid.periodWidthMm;
        const y = 0.5 + ((row - (size.heightPx - 1) / 2) * 0.0978) / grid.periodHeightMm;
        const expected = 0.5 + 0.4 * transfer(frequency) * Math.cos(2 * Math.PI * (kx * x + ky * y) + 0.7);
        const mean = kx === 0 && ky === 0 ? (0.5 + 0.4 * Math.cos(0.7)) * transfer(0) : expected;
        worst = Math.max(worst, Math.abs(image[row * size.widthPx + column]! - mean));
      }
    }
    // The radial transfer function is read to the nearest of its entries.
    expect(worst).toBeLessThan(tolerance + 1.2e-4);
  });
});

describe('blurred image', () => {
  it('property: both versions agree on a scene of noise, at several scales', () => {
    const random = seededRandom(2);
    const scene = Float32Array.from({ length: grid.gridColumnCount * grid.gridRowCount }, () => random.uniform());
    for (const pixelOnObjectMm of [0.0945, 0.0978, 0.1]) {
      const blur = blurWith((frequency) => 1 / (1 + 0.2 * frequency), pixelOnObjectMm);
      const plain = imageOf(blurredImager(size), scene, blur);
      const fast = imageOf(fastBlurredImager({ kernel: frameKernel(), ...size }), scene, blur);
      expect(Math.max(...plain.map((value, i) => Math.abs(value - fast[i]!)))).toBeLessThan(1e-3);
    }
  });

  it('property: sizes that use every radix, and widths that are no multiple of four, agree too', () => {
    const random = seededRandom(3);
    for (const [widthPx, heightPx] of [
      [17, 40],
      [50, 21],
      [66, 9],
    ] as const) {
      const other: RenderGrid = renderGrid({
        widthPx,
        heightPx,
        pixelPitchMm: 0.005,
        magnificationMin: 0.05,
        magnificationMax: 0.05,
        highestPerPx: 0.8,
        marginPx: 0,
      });
      const scene = Float32Array.from({ length: other.gridColumnCount * other.gridRowCount }, () => random.uniform());
      const blur: Blur = {
        radialTransfer: new Float32Array(radialEntryCount).fill(1),
        polarTransfer: null,
        columnTransfer: Float32Array.from({ length: other.halfColumnCount + 1 }, (_, k) => 1 / (1 + k / 40)),
        rowTransfer: Float32Array.from({ length: other.halfRowCount + 1 }, (_, k) => 1 / (1 + k / 30)),
        pixelOnObjectMm: 0.1,
      };
      const images = [
        blurredImager({ widthPx, heightPx }),
        fastBlurredImager({ kernel: frameKernel(), widthPx, heightPx }),
      ];
      const [plain, fast] = images.map((imager) => {
        imager.loadScene(other, scene);
        return { image: imager.image(blur), stride: imager.strideCount };
      });
      for (let row = 0; row < heightPx; row++) {
        for (let column = 0; column < widthPx; column++) {
          const difference = plain!.image[row * widthPx + column]! - fast!.image[row * fast!.stride + column]!;
          expect(Math.abs(difference)).toBeLessThan(2e-4);
        }
      }
    }
  });

  it('property: a blur that depends on direction comes out alike in both versions', () => {
    const random = seededRandom(5);
    const scene = Float32Array.from({ length: grid.gridColumnCount * grid.gridRowCount }, () => 0.4 * random.uniform());
    const fill = (of: (direction: number, radius: number) => number) =>
      Float32Array.from({ length: directionCount * polarRadiusCount }, (_, i) =>
        of(Math.floor(i / polarRadiusCount) / (directionCount - 1), (i % polarRadiusCount) / polarRadiusCount),
      );
    const blur: Blur = {
      ...blurWith(() => 1),
      radialTransfer: null,
      polarTransfer: {
        real: fill((direction, radius) => Math.exp(-3 * radius * (1 + direction))),
        imaginary: fill((direction, radius) => 0.6 * radius * Math.cos((Math.PI / 2) * direction)),
      },
    };
    const plain = imageOf(blurredImager(size), scene, blur);
    const fast = imageOf(fastBlurredImager({ kernel: frameKernel(), ...size, directed: true }), scene, blur);
    const worst = Math.max(...plain.map((value, i) => Math.abs(value - fast[i]!)));
    expect(worst).toBeLessThan(2e-4);
    const round = imageOf(
      blurredImager(size),
      scene,
      blurWith(() => 1),
    );
    expect(Math.max(...plain.map((value, i) => Math.abs(value - round[i]!)))).toBeGreaterThan(0.02);
  });

  it('property: a second scene leaves nothing of the first', () => {
    const imager = fastBlurredImager({ kernel: frameKernel(), ...size });
    const blur = blurWith(() => 1);
    const first = imageOf(imager, wave(5, 3), blur);
    imageOf(imager, wave(40, 20), blur);
    expect(imageOf(imager, wave(5, 3), blur)).toEqual(first);
  });
});
