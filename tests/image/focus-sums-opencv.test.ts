import { createRequire } from 'node:module';
import { beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { focusSumsFast } from '../../src/image/focus-measures/focus-sums.fast.js';
import { focusSums } from '../../src/image/focus-measures/focus-sums.js';
import type { GreyImage } from '../../src/image/index.js';

/** What of OpenCV is used here. */
interface Filters {
  matFromArray(rows: number, columns: number, type: number, data: ArrayLike<number>): Mat;
  Mat: new () => Mat;
  Laplacian(from: Mat, to: Mat, depth: number): void;
  Sobel(from: Mat, to: Mat, depth: number, dx: number, dy: number): void;
  CV_8UC1: number;
  CV_16UC1: number;
  CV_64F: number;
}
interface Mat {
  data64F: Float64Array;
  delete(): void;
}

let cv: Filters;
beforeAll(async () => {
  // By require: it gives a promise, which the test runner's import would take for a module.
  cv = (await createRequire(import.meta.url)('@techstark/opencv-js')) as Filters;
});

const [widthPx, heightPx] = [203, 117];
const whole = { xPx: 0, yPx: 0, widthPx, heightPx };

function noise(bitDepth: number): GreyImage {
  const random = seededRandom(bitDepth);
  const values = Array.from({ length: widthPx * heightPx }, () => Math.floor(2 ** bitDepth * random.uniform()));
  return { widthPx, heightPx, bitDepth, data: bitDepth === 8 ? Uint8Array.from(values) : Uint16Array.from(values) };
}

/** Sums of a filtered picture's values and squares over the interior, where no border rule matters. */
function interior(image: GreyImage, filter: (from: Mat, to: Mat) => void): { sum: bigint; squares: bigint } {
  const type = image.data instanceof Uint8Array ? cv.CV_8UC1 : cv.CV_16UC1;
  const from = cv.matFromArray(heightPx, widthPx, type, image.data);
  const to = new cv.Mat();
  filter(from, to);
  let sum = 0n;
  let squares = 0n;
  for (let y = 1; y < heightPx - 1; y++) {
    for (let x = 1; x < widthPx - 1; x++) {
      const value = BigInt(to.data64F[y * widthPx + x]!);
      sum += value;
      squares += value * value;
    }
  }
  from.delete();
  to.delete();
  return { sum, squares };
}

describe.each([8, 10, 12, 14, 16])('focus sums of %i bit', (bitDepth) => {
  it('reference: Laplacian and Sobel sums equal OpenCV’s (5.0, WebAssembly) exactly', () => {
    const image = noise(bitDepth);
    const laplacian = interior(image, (from, to) => cv.Laplacian(from, to, cv.CV_64F));
    const sobelX = interior(image, (from, to) => cv.Sobel(from, to, cv.CV_64F, 1, 0));
    const sobelY = interior(image, (from, to) => cv.Sobel(from, to, cv.CV_64F, 0, 1));
    const expected = [laplacian.sum, laplacian.squares, sobelX.squares + sobelY.squares];
    for (const sums of [focusSums, focusSumsFast]) {
      expect(sums(image, whole, ['laplacian', 'laplacian-squares', 'sobel-squares'])).toEqual(expected);
    }
  });
});
