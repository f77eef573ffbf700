import { writeTransformPlan } from '../../base/index.js';
import { requireTransformSide } from './region-transform.js';
import { finePerRing, type RingSpectrometer } from './ring-spectrum.js';
import { spectrumKernel } from './spectrum-kernel.js';
import { columnShare, type SpectrumRings, spectrumRings } from './spectrum-rings.js';

/** Fields of a spectrum (32-bit), as in assembly/spectrum.ts. */
const fields = [
  ...['widthPx', 'heightPx', 'pixelBytes', 'rings', 'grey', 'across', 'down', 'planAcross', 'planDown', 'ping', 'pong'],
  ...['columns', 'ringOf', 'scaledRingOf', 'frequencies', 'fine', 'fineCount', 'sums', 'counts', 'scaledCounts'],
] as const;
type Field = (typeof fields)[number];
const wordBytes = 4;
const floatBytes = 4;
const numberBytes = 8;
/** Four real and four imaginary parts. */
const sampleBytes = 32;
const lanes = 4;
/** Kernels read whole vectors: a few bytes beyond the last pixel. */
const slackBytes = 16;
/** The kernels leave out the halves when they take the transforms of two rows apart. */
const powerScale = 1 / 4;

/**
 * As ringSpectrometer, by the kernels of assembly/spectrum.ts (WebAssembly with SIMD): eight rows at a time, half of the columns, in single
 * precision.
 *
 * Cost     256 × 256: about 0.2 ms, 0.3 ms for a scene drawn larger.
 * Throws   RangeError unless the sides are powers of two, 16 … 2048 px; WebAssembly.CompileError where SIMD is not to be had.
 * Trust    detail below 1e-6 of the region's contrast drowns in rounding: far below any camera's noise.
 * Checked  property: as ringSpectrometer within 1e-5, tests/image/defocus/ring-spectrum.fast.test.ts
 */
export function ringSpectrometerFast({ widthPx, heightPx }: { widthPx: number; heightPx: number }): RingSpectrometer {
  requireTransformSide('widthPx', widthPx);
  requireTransformSide('heightPx', heightPx);
  const rings = spectrumRings({ widthPx, heightPx });
  const count = rings.frequenciesPerPx.length;
  const { kernel, at, field, perSum } = laidOut(rings);
  const buffer = kernel.buffer();
  const bytes = new Uint8Array(buffer, field('grey'), widthPx * heightPx);
  const words = new Uint16Array(buffer, field('grey'), widthPx * heightPx);
  const sums = new Float64Array(buffer, field('sums'), 2 * lanes * count);
  const counts = new Float64Array(buffer, field('counts'), count);
  const scaledCounts = new Float64Array(buffer, field('scaledCounts'), count);
  return {
    rings,
    measure({ data, widthPx: stride }, { xPx, yPx }, scaleRatio = 1) {
      const grey = data instanceof Uint8Array ? bytes : words;
      for (let y = 0, from = yPx * stride + xPx; y < heightPx; y++, from += stride) {
        grey.set(data.subarray(from, from + widthPx), y * widthPx);
      }
      field('pixelBytes', data.BYTES_PER_ELEMENT);
      const meanDn = kernel.meanUnderWindow(at, perSum);
      const isScaled = scaleRatio !== 1;
      if (isScaled) kernel.scaleRings(at, scaleRatio);
      kernel.ringSums(at, meanDn, isScaled);
      const found = isScaled ? scaledCounts : counts;
      const powersDn2 = new Float64Array(count);
      const coefficientCounts = new Float64Array(count);
      for (let ring = 0; ring < count; ring++) {
        let power = 0;
        let square = 0;
        for (let lane = 0; lane < lanes; lane++) {
          const place = 2 * (lanes * ring + lane);
          power += powerScale * sums[place]!;
          square += powerScale ** 2 * sums[place + 1]!;
        }
        // As ringSpectrometer.
        const taking = (2 * power ** 2) / Math.max(square, 1e-30) / Math.max(found[ring]!, 0.5);
        coefficientCounts[ring] = rings.coefficientCounts[ring]! * Math.min(1, taking);
        powersDn2[ring] = power / Math.max(found[ring]!, 0.5);
      }
      return { powersDn2, coefficientCounts, meanDn };
    },
  };
}

/** A kernel of its own with windows, plans and maps in its memory; nothing is reserved later. */
function laidOut({ widthPx, heightPx, window, ringOf, ringAt, frequenciesPerPx }: SpectrumRings) {
  const kernel = spectrumKernel();
  const at = kernel.allocate(wordBytes * fields.length);
  const field = (name: Field, value?: number): number => {
    const words = new Uint32Array(kernel.buffer(), at, fields.length);
    if (value !== undefined) words[fields.indexOf(name)] = value;
    return words[fields.indexOf(name)]!;
  };
  const room = (name: Field, byteCount: number): number => field(name, kernel.allocate(byteCount));
  const none = frequenciesPerPx.length;
  const columns = widthPx / 2 + 1;
  const blocks = Math.ceil(columns / lanes);
  const placesDown = heightPx / 2 + 1;
  const mapLength = lanes * blocks * placesDown;
  field('widthPx', widthPx);
  field('heightPx', heightPx);
  field('rings', none);
  field('planAcross', writeTransformPlan(kernel, widthPx));
  field('planDown', writeTransformPlan(kernel, heightPx));
  room('grey', 2 * widthPx * heightPx + slackBytes);
  room('across', floatBytes * widthPx);
  room('down', floatBytes * heightPx);
  room('ping', sampleBytes * Math.max(widthPx, heightPx));
  room('pong', sampleBytes * Math.max(widthPx, heightPx));
  room('columns', sampleBytes * heightPx * blocks);
  room('ringOf', mapLength);
  room('scaledRingOf', mapLength);
  room('frequencies', floatBytes * mapLength);
  room('fine', field('fineCount', finePerRing));
  room('sums', 2 * numberBytes * lanes * (none + 1));
  room('counts', numberBytes * (none + 1));
  room('scaledCounts', numberBytes * (none + 1));
  const buffer = kernel.buffer();
  const across = new Float32Array(buffer, field('across'), widthPx);
  const down = new Float32Array(buffer, field('down'), heightPx);
  across.set(window.across);
  down.set(window.down);
  new Uint8Array(buffer, field('fine'), finePerRing).set(
    Array.from({ length: finePerRing }, (_, i) => orNone(ringAt(i / finePerRing), none)),
  );
  const map = new Uint8Array(buffer, field('ringOf'), mapLength).fill(none);
  const frequencies = new Float32Array(buffer, field('frequencies'), mapLength);
  const counts = new Float64Array(buffer, field('counts'), none + 1);
  for (let u = 0; u < columns; u++) {
    for (let v = 0; v < placesDown; v++) {
      const place = (Math.floor(u / lanes) * placesDown + v) * lanes + (u % lanes);
      const ring = orNone(ringOf[u * heightPx + v]!, none);
      map[place] = ring;
      frequencies[place] = Math.sqrt((u / widthPx) ** 2 + (v / heightPx) ** 2);
      counts[ring]! += columnShare(u, columns) * columnShare(v, placesDown) * 2;
    }
  }
  const sum = (values: Float32Array): number => values.reduce((total, value) => total + value, 0);
  return { kernel, at, field, perSum: 1 / (sum(across) * sum(down)) };
}

const orNone = (ring: number, none: number): number => (ring < 0 ? none : ring);
