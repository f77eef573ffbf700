import { bench, describe } from 'vitest';
import { seededRandom } from '../src/base/index.js';
import type { GreyImage } from '../src/image/index.js';
import { bandEnergies } from '../src/image/stack/band-energies.js';
import { fitBestFocus } from '../src/image/stack/fit-best-focus.js';
import { stackFrames } from '../src/image/stack/stack-frames.fast.js';
import { throughFocusModel } from '../src/image/stack/through-focus-model.js';

const [widthPx, heightPx, blockPx] = [2448, 2048, 8];
const random = seededRandom(1);
const frame = (bitDepth: 8 | 12): GreyImage => {
  const value = () => Math.round((2 ** bitDepth - 1) * random.uniform());
  const of = { length: widthPx * heightPx };
  return {
    widthPx,
    heightPx,
    bitDepth,
    data: bitDepth === 8 ? Uint8Array.from(of, value) : Uint16Array.from(of, value),
  };
};
const [eight, twelve] = [frame(8), frame(12)];
const worker = stackFrames({ widthPx, heightPx, blockPx });
const frames = 32;
const model = throughFocusModel({
  model: {
    fixedLens: { focalLengthMm: 25, fNumber: 4, pupilMagnification: 1 },
    tunableLensAt: 'object-side',
    clearApertureMm: 16,
    gapMm: 10,
    ringDistanceMm: 600,
    spacerMm: 0,
    frontOffsetMm: 5,
  },
  wavelengthNm: 525,
  pixelPitchUm: 3.45,
  focalPowersDpt: Array.from({ length: frames }, (_, i) => 1.2 + 0.02 * i),
})!;
const windows = 10_000;
const energies = Array.from({ length: 3 }, () =>
  Array.from({ length: frames }, () => Float32Array.from({ length: windows }, () => 50 + 10 * random.uniform())),
);
const noiseVarianceDn2 = new Float32Array(windows).fill(1);
const powersDpt = Float32Array.from({ length: widthPx * heightPx }, (_, i) => 1.2 + (0.62 * (i % widthPx)) / widthPx);

describe('stack, a frame of 2448 × 2048 (times 32 for the wanted stack; two threads share it)', () => {
  bench('bands, 8 bit', () => void worker.bandEnergies(eight));
  bench('bands, 12 bit', () => void worker.bandEnergies(twelve));
  bench('bands, 8 bit, readable version of a sixteenth', () => {
    const image = { widthPx: 612, heightPx: 512, bitDepth: 8, data: eight.data.subarray(0, 612 * 512) } as GreyImage;
    bandEnergies({ image, blockPx });
  });
  worker.beginFusion(powersDpt);
  bench('fusion, one frame of 32', () =>
    worker.addFrame({ image: eight, focalPowerDpt: 1.5, halfWidthDpt: 0.02, scale: 1.001 }),
  );
});

describe('stack, fit', () => {
  bench(
    '10 000 windows of 32 frames (78 000 in the wanted stack)',
    () => void fitBestFocus({ energies, noiseVarianceDn2, blockPx, model }),
  );
});
