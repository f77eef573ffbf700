import { readFileSync } from 'node:fs';
import { bench, describe } from 'vitest';
import { seededRandom } from '../src/base/index.js';
import {
  decodeImage,
  encodePng,
  encodeTiff,
  findEdges,
  fitPeak,
  focusMeasureNames,
  focusMeasureNoise,
  type GreyImage,
  measureBars,
  measureEdge,
  measureFocus,
} from '../src/image/index.js';
import { edgeScene } from '../tests/image/edge-scene.js';

const random = seededRandom(1);
const frame: GreyImage = {
  widthPx: 1000,
  heightPx: 1000,
  bitDepth: 12,
  data: Uint16Array.from({ length: 1e6 }, () => Math.round(1500 + 300 * random.uniform())),
};
const png = encodePng(frame);
const tiff = encodeTiff(frame);
const edge = (widthPx: number, heightPx: number, discRadiusPx: number) =>
  edgeScene({
    widthPx,
    heightPx,
    discRadiusPx,
    angleDeg: 5,
    gaussPx: 0.5,
    darkDn: 600,
    brightDn: 2800,
    bitDepth: 12,
    fullWellE: 10000,
    readNoiseE: 5,
    seed: 1,
  });
const small = edge(80, 80, 1);
const middle = edge(120, 120, 1);
const large = edge(220, 220, 8);

describe('focus measures, 1 Mpx of 12 bit', () => {
  for (const measure of focusMeasureNames) bench(measure, () => void measureFocus({ image: frame, measure }));
  bench('noise of tenengrad', () => void focusMeasureNoise({ image: frame, measure: 'tenengrad', noiseStdDn: 4 }));
});

describe('edge response', () => {
  bench('80 × 80 px', () => void measureEdge({ image: small }));
  bench('120 × 120 px', () => void measureEdge({ image: middle }));
  bench('220 × 220 px, blur disc of 8 px', () => void measureEdge({ image: large }));
  bench('find edges in 1 Mpx of noise', () => void findEdges({ image: frame }));
});

describe('three-bar targets', () => {
  const target = decodeImage(readFileSync('references/bars/target-000.png'), 'target-000.png');
  bench('359 × 304 px, 46 patterns', () => void measureBars({ image: target, umPerPx: 202.118141 }));
  bench('1 Mpx of noise, no target', () => void measureBars({ image: frame, umPerPx: 10 }));
});

describe('formats, 1 Mpx of 12 bit', () => {
  bench('decode PNG', () => void decodeImage(png));
  bench('decode TIFF', () => void decodeImage(tiff));
  bench('encode PNG', () => void encodePng(frame));
  bench('encode TIFF', () => void encodeTiff(frame));
});

describe('peak fit', () => {
  const positions = Array.from({ length: 25 }, (_, i) => i * 0.1);
  const values = positions.map((x) => 100 * Math.exp(-((x - 1.2) ** 2) / 0.18) + 20 + random.normal());
  bench('25 points', () => void fitPeak({ positions, values }));
});
