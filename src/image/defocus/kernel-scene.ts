import { requireInteger } from '../../base/index.js';
import { defocusKernel } from './defocus-kernel.js';
import type { RingBlurTable } from './ring-blur-table.js';
import { type BlurHypothesis, type ExpectedBlur, logPivot, type SeenSpectrum } from './scene-likelihood.js';
import type { SpectrumRings } from './spectrum-rings.js';

/** Fields of a scene (32-bit) as in assembly/defocus.ts. */
const fields = [
  ...['rings', 'frames', 'ringBytes', 'mask', 'logFrequencies', 'perCounts', 'mostCounts', 'logPowers'],
  ...[
    'informations',
    'logVariances',
    'powers',
    'usual',
    'isOpen',
    'frame',
    'frameBytes',
    'layers',
    'spreads',
    'radiiPx',
    'side',
    'levels',
    'stds',
  ],
  ...['stdEnds', 'missing', 'unused'],
] as const;
/** Numbers (64-bit) that follow: row bend and step, step of W040, largest blur. */
const sceneNumbers = 4;
const wordBytes = 4;
const numberBytes = 8;
/** Kernels read whole vectors: a few bytes beyond the last number. */
const slackBytes = 16;
/** Before the arrays of a frame: noise, leakRatio, errorRatio, and one unused. */
const headNumbers = 4;
/** Arrays of a frame: power, 1/n, logarithm of the power, share, spread, variance of the model. */
const arraysOfFrame = 6;
const [powerArray, perCountArray, shareArray, spreadArray] = [0, 1, 3, 4];
/** Before the blurs of a frame: leakRatio, errorRatio, count. */
const askedHead = 3;
const mostFrames = 32;
const mostBlurs = 128;
/** −1: no layer was missing. */
const noLayer = 0xffffffff;

/** Frames over rings, and the blurs that are asked of them, in the memory of a kernel of its own. */
export interface KernelScene {
  /** Puts frames in the place of those before. */
  layFrames(frames: readonly SeenSpectrum[]): void;
  /** Log-likelihood of blurs as the table has them. */
  askBlurs(hypothesis: BlurHypothesis): number;
  /** Log-likelihood of blurs worked out beforehand. */
  askShares(blurs: readonly ExpectedBlur[], modelError: number): number;
  /** A result of the last question, over rings. */
  result(name: 'logPowers' | 'logVariances'): Float64Array;
}

/**
 * Makes room for frames over rings, and for a table, whose layers are taken over when they are asked for. Nothing is reserved
 * later, so that views stay.
 *
 * Throws   RangeError for more than 32 frames, or 128 blurs of a frame.
 */
export function kernelScene({ rings, table }: { rings: SpectrumRings; table: RingBlurTable | null }): KernelScene {
  const kernel = defocusKernel();
  const count = rings.frequenciesPerPx.length;
  /** The kernels take two rings at a time. */
  const held = 2 * Math.ceil(count / 2);
  const ringBytes = numberBytes * held;
  const frameBytes = numberBytes * headNumbers + arraysOfFrame * ringBytes;
  const scene = kernel.allocate(wordBytes * fields.length + numberBytes * sceneNumbers);
  const framesAt = kernel.allocate(frameBytes * mostFrames);
  const askedLength = mostFrames * (askedHead + 2 * mostBlurs);
  const askedAt = kernel.allocate(numberBytes * askedLength);
  const field = (name: (typeof fields)[number], value?: number): number => {
    const words = new Uint32Array(kernel.buffer(), scene, fields.length);
    if (value !== undefined) words[fields.indexOf(name)] = value;
    return words[fields.indexOf(name)]!;
  };
  const numbers = (address: number, length: number) => new Float64Array(kernel.buffer(), address, length);
  /** The last place is that of the last ring where their number is odd. */
  const overRings = (name: (typeof fields)[number], value: (ring: number) => number = () => 0): void => {
    const values = Array.from({ length: held }, (_, ring) => value(Math.min(ring, count - 1)));
    numbers(field(name, kernel.allocate(ringBytes)), held).set(values);
  };
  field('rings', count);
  field('ringBytes', ringBytes);
  field('frame', framesAt);
  field('frameBytes', frameBytes);
  overRings('logFrequencies', (ring) => Math.log(rings.frequenciesPerPx[ring]!) - logPivot);
  overRings('perCounts', (ring) => 1 / rings.coefficientCounts[ring]!);
  overRings('mostCounts');
  overRings('logPowers');
  overRings('informations');
  overRings('logVariances');
  overRings('powers');
  overRings('usual');
  overRings('isOpen');
  overRings('mask');
  new Uint8Array(kernel.buffer(), field('mask'), numberBytes * count).fill(0xff);
  const loadLayer = table === null ? () => false : layTable(table);
  const asked = numbers(askedAt, askedLength);
  const mostCounts = numbers(field('mostCounts'), held);
  const frames = Array.from({ length: mostFrames }, (_, k) => {
    const at = framesAt + k * frameBytes;
    const array = (i: number) => numbers(at + numberBytes * headNumbers + i * ringBytes, held);
    return {
      at,
      head: numbers(at, headNumbers),
      powers: array(powerArray),
      perCounts: array(perCountArray),
      shares: array(shareArray),
      spreads: array(spreadArray),
    };
  });

  /** Room for all layers of a table; returns what brings the one that was missing, if one was. */
  function layTable({ layers, maxBlurRadiusPx }: RingBlurTable): () => boolean {
    const { radiiPx, rowStepPx, rowBendPx, sphericalStepWaves, levelCount, stdEndsPx } = layers;
    const stds = stdEndsPx.length + 1;
    const layerBytes = Float32Array.BYTES_PER_ELEMENT * radiiPx.length * count + slackBytes;
    const room = (name: (typeof fields)[number], byteCount: number) => field(name, kernel.allocate(byteCount));
    room('radiiPx', numberBytes * radiiPx.length);
    room('stdEnds', numberBytes * stds);
    room('layers', wordBytes * levelCount * stds);
    room('spreads', wordBytes * levelCount);
    const layersAt = kernel.allocate((stds + 1) * levelCount * layerBytes);
    field('side', (radiiPx.length - 1) / 2);
    field('levels', levelCount - 1);
    field('stds', stds);
    numbers(scene + wordBytes * fields.length, sceneNumbers).set([
      rowBendPx,
      rowStepPx,
      sphericalStepWaves,
      maxBlurRadiusPx,
    ]);
    numbers(field('radiiPx'), radiiPx.length).set(radiiPx);
    numbers(field('stdEnds'), stdEndsPx.length).set(stdEndsPx);
    return () => {
      const missing = field('missing');
      if (missing === noLayer) return false;
      const ofSpreads = missing - stds * levelCount;
      const values =
        ofSpreads < 0 ? layers.shares(Math.floor(missing / stds), missing % stds) : layers.spreads(ofSpreads);
      const at = layersAt + missing * layerBytes;
      new Float32Array(kernel.buffer(), at, values.length).set(values);
      const place = ofSpreads < 0 ? field('layers') + wordBytes * missing : field('spreads') + wordBytes * ofSpreads;
      new Uint32Array(kernel.buffer(), place)[0] = at;
      return true;
    };
  }

  return {
    layFrames(seen) {
      requireInteger('frames.length', seen.length, { min: 1, max: mostFrames });
      field('frames', seen.length);
      mostCounts.fill(0);
      seen.forEach(({ powersDn2, coefficientCounts, noiseDn2 }, k) => {
        const { at, head, powers, perCounts } = frames[k]!;
        head[0] = noiseDn2;
        for (let ring = 0; ring < held; ring++) {
          const from = Math.min(ring, count - 1);
          powers[ring] = powersDn2[from]!;
          perCounts[ring] = 1 / coefficientCounts[from]!;
          mostCounts[ring] = Math.max(mostCounts[ring]!, coefficientCounts[from]!);
        }
        kernel.beginFrame(scene, at);
      });
    },
    askBlurs({ frames: blurs, sphericalWaves, modelErrorRatio }) {
      let at = 0;
      for (const { count: alike, radiiPx, stdsPx, leakRatio, errorRatio } of blurs) {
        requireInteger('count', alike, { min: 1, max: mostBlurs });
        asked[at++] = leakRatio;
        asked[at++] = errorRatio;
        asked[at++] = alike;
        for (let i = 0; i < alike; i++) {
          asked[at++] = radiiPx[i]!;
          asked[at++] = stdsPx[i]!;
        }
      }
      for (;;) {
        const logLikelihood = kernel.fitBlurs(scene, askedAt, sphericalWaves, modelErrorRatio);
        if (!Number.isNaN(logLikelihood) || !loadLayer()) return logLikelihood;
      }
    },
    askShares(blurs, modelError) {
      blurs.forEach((blur, k) => {
        const { head, shares, spreads } = frames[k]!;
        head[1] = blur.leakRatio;
        head[2] = blur.errorRatio;
        shares.set(blur.shares);
        spreads.set(blur.spreads);
        // The last place where the number of rings is odd.
        shares[held - 1] = blur.shares[count - 1]!;
      });
      return kernel.fit(scene, modelError);
    },
    result: (name) => numbers(field(name), count).slice(),
  };
}
