import { bench, describe } from 'vitest';
import { seededRandom } from '../src/base/index.js';
import { type GreyImage, heightMap } from '../src/image/index.js';
import { bandEnergiesFast } from '../src/image/stack/band-energies.fast.js';
import { bandEnergies } from '../src/image/stack/band-energies.js';
import { fitBestFocus } from '../src/image/stack/fit-best-focus.js';
import { fusionRows } from '../src/image/stack/fuse-frames.fast.js';
import { stackMemory, stackMemoryBytes } from '../src/image/stack/stack-memory.js';
import { stackSweep } from '../src/image/stack/stack-sweep.js';
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
const bands = bandEnergiesFast({ widthPx, heightPx, blockPx });
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
const factors = new Float32Array(frames).fill(1);
const columns = widthPx / blockPx;
const blockPowersDpt = Float32Array.from(
  { length: (columns * heightPx) / blockPx },
  (_, b) => 1.2 + (0.62 * (b % columns)) / columns,
);
const scales = model.scales;
const picture = fusionRows({ widthPx, heightPx, blockPx, bitDepth: 8, scales, halfWidthDpt: 0.02 });
picture.begin({ from: 0, to: heightPx, blockPowersDpt });

// A leaning surface: the same texture in all frames, its contrast falling with the distance from focus.
const texture = eight.data;
const sweep: GreyImage[] = model.focalPowersDpt.map((power) => {
  const data = new Uint8Array(widthPx * heightPx);
  for (let i = 0; i < data.length; i++) {
    const off = (power - 1.2 - (0.62 * (i % widthPx)) / widthPx) / 0.05;
    data[i] = 128 + (texture[i]! - 128) / (1 + off * off);
  }
  return { widthPx, heightPx, bitDepth: 8, data };
});
const size = {
  frames,
  blocks: blockPowersDpt.length,
  pixels: widthPx * heightPx,
  bitDepth: 8,
  keptFrames: frames,
};
const memory = stackMemory(new ArrayBuffer(stackMemoryBytes(size)), size);
const noise = { gainDnPerE: 0.01, readNoiseE: 7, blackLevelDn: 4 };
const distanceOf = (power: number) => ({ workingDistanceMm: 1000 / power, slopeMmPerDpt: -1000 / power ** 2 });

/** Frames in memory → all-in-focus picture, height map and confidence, one thread. */
async function wholeStack() {
  const worker = stackSweep({ widthPx, heightPx, bitDepth: 8, blockPx, model, noise }, memory);
  for (const [i, image] of sweep.entries()) worker.measure(i, image);
  worker.prepare();
  worker.fit(0, size.blocks);
  worker.finish();
  const rows = heightPx / blockPx;
  heightMap({ ...memory, columns, rows, stepPx: blockPx, quarterWaveHalfWidthDpt: 0.02, distanceOf });
  for (let y = 0; y < heightPx; y += 128) {
    await worker.fuse({ from: y, to: y + 128 }, async (i) => sweep[i]!);
  }
}

describe('stack, a frame of 2448 × 2048 (times 32 for the wanted stack; two threads share it)', () => {
  bench('bands, 8 bit', () => void bands(eight));
  bench('bands, 12 bit', () => void bands(twelve));
  bench('bands, 8 bit, readable version of a sixteenth', () => {
    const image = { widthPx: 612, heightPx: 512, bitDepth: 8, data: eight.data.subarray(0, 612 * 512) } as GreyImage;
    bandEnergies({ image, blockPx });
  });
  bench('fusion, one frame of 32', () => picture.add({ image: eight, focalPowerDpt: 1.5, scale: 1.001 }));
});

describe('stack, 32 frames of 2448 × 2048 in memory, one thread', () => {
  bench('heights, confidence and picture', wholeStack, { iterations: 3, warmupIterations: 1, time: 0, warmupTime: 0 });
});

describe('stack, fit', () => {
  bench(
    '10 000 windows of 32 frames (78 336 in the wanted stack)',
    () => void fitBestFocus({ energies, factors, noiseVarianceDn2, blockPx, model }),
  );
});
