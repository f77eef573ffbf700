import { bench, describe } from 'vitest';
import { seededRandom } from '../src/base/index.js';
import {
  type BlurHypothesis,
  type GreyImage,
  ringBlurTable,
  ringSpectrometer,
  ringSpectrometerFast,
  type SceneLikelihood,
  sceneLikelihood,
  sceneLikelihoodFast,
} from '../src/image/index.js';

const sidePx = 256;
const spectrometer = ringSpectrometer({ widthPx: sidePx, heightPx: sidePx });
const { rings } = spectrometer;
const table = ringBlurTable({ rings, cutoffPerPx: 1.2, maxBlurRadiusPx: 60 });
const random = seededRandom(1);
const radiiPx = [12, -31, 3, 20, -8];
const scene = rings.frequenciesPerPx.map((f) => 60 * (f / 0.1) ** -2.6 * Math.exp(0.4 * random.normal()));
const frames = radiiPx.map((blurRadiusPx) => {
  const shares = new Float64Array(scene.length);
  table.read({ blurRadiusPx, blurRadiusStdPx: 0.1 }, shares);
  return {
    noiseDn2: 4,
    coefficientCounts: rings.coefficientCounts,
    powersDn2: scene.map((power, ring) => power * shares[ring]! + 4 * Math.exp(0.05 * random.normal())),
  };
});
/** Hypotheses about the truth; one W040 each. */
const hypotheses = (count: number): BlurHypothesis[] =>
  Array.from({ length: 100 }, () => {
    const shiftPx = 3 * random.normal();
    return {
      modelErrorRatio: 0.05,
      sphericalWaves: 0.1 * random.normal(),
      frames: radiiPx.slice(0, count).map((radius) => ({
        count: 1,
        radiiPx: Float64Array.of(radius + shiftPx),
        stdsPx: Float64Array.of(0.2),
        leakRatio: Math.abs(radius) / sidePx,
        errorRatio: 0,
      })),
    };
  });

for (const count of [2, 3, 5]) {
  describe(`100 hypotheses of the blur of ${count} frames, table and likelihood`, () => {
    const asked = hypotheses(count);
    const run = (likelihood: SceneLikelihood) => {
      const ask = likelihood.ofBlurs(frames.slice(0, count), table);
      return () => {
        for (const hypothesis of asked) ask(hypothesis);
      };
    };
    bench('readable', run(sceneLikelihood(rings)));
    bench('compiled', run(sceneLikelihoodFast(rings)));
  });
}

for (const [depth, scaleRatio] of [
  [8, 1],
  [12, 1],
  [12, 1.01],
] as const) {
  describe(`ring spectrum of 256 × 256 px, ${depth} bit${scaleRatio === 1 ? '' : ', drawn larger by 1 %'}`, () => {
    const data = (depth === 8 ? new Uint8Array(120_000) : new Uint16Array(120_000)).map(
      () => 100 + 40 * random.normal(),
    );
    const image: GreyImage = { widthPx: 400, heightPx: 300, bitDepth: depth, data };
    for (const [name, { measure }] of [
      ['readable', spectrometer],
      ['compiled', ringSpectrometerFast({ widthPx: sidePx, heightPx: sidePx })],
    ] as const) {
      bench(name, () => void measure(image, { xPx: 20, yPx: 10 }, scaleRatio));
    }
  });
}

describe('made once for a region and its optics', () => {
  bench(
    'rings, window and transform of 256 × 256 px',
    () => void ringSpectrometerFast({ widthPx: sidePx, heightPx: sidePx }),
  );
  bench('table of blurs up to 60 px', () => void ringBlurTable({ rings, cutoffPerPx: 1.2, maxBlurRadiusPx: 60 }));
});
