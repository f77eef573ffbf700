import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { stackKernel, vectorSlack } from './stack-kernel.js';

/** Fuses frames of one size, some rows of the picture at a time. */
export interface FusionRows {
  /** Begins anew with rows from … to − 1, and the focal power that each block is sharp at. */
  begin(rows: { from: number; to: number; blockPowersDpt: Float32Array }): void;
  /** Adds a frame to these rows; as addFrame. */
  add(frame: { image: GreyImage; focalPowerDpt: number; scale: number }): void;
  /** The rows as grey values; valid until the next call of begin. */
  settled(): Uint8Array | Uint16Array;
}

/**
 * The compiled twin of addFrame and fusedImage: blocks to pixels, weights, cubic convolution, quotient.
 *
 * Input    `scales` of the frames, for the memory to reserve; `halfWidthDpt` of the weights
 * Cost     about 5 ns a pixel and frame where the frame is sharp, next to nothing elsewhere; 14 bytes a pixel of the rows
 * Throws   RangeError for a frame of another size or bit depth, or before begin.
 * Checked  property: equal to the readable version within one grey value, tests/image/stack/fuse-frames.test.ts
 */
export function fusionRows({
  widthPx,
  heightPx,
  blockPx,
  bitDepth,
  scales,
  halfWidthDpt,
}: {
  widthPx: number;
  heightPx: number;
  blockPx: number;
  bitDepth: number;
  scales: readonly number[];
  halfWidthDpt: number;
}): FusionRows {
  const kernel = stackKernel();
  const columns = Math.floor(widthPx / blockPx);
  const rows = Math.floor(heightPx / blockPx);
  const wide = bitDepth > 8;
  const [floatBytes, greyBytes] = [4, wide ? 2 : 1];
  const farthest = scales.reduce((most, scale) => Math.max(most, Math.abs(scale - 1)), 0);
  const beyondPx = Math.ceil((farthest * widthPx) / 2) + 8;
  const floats = (count: number) => kernel.allocate(floatBytes * count + vectorSlack);
  const blocks = floats(columns * rows);
  const first = floats(widthPx);
  const share = floats(widthPx);
  const powersLine = floats(columns);
  const line = floats(widthPx + 16 + 2 * beyondPx) + floatBytes * beyondPx;
  layColumns();
  const mark = kernel.allocate(0);
  let laid: ReturnType<typeof lay> | null = null;
  let [from, to] = [0, 0];

  function layColumns(): void {
    const firsts = new Int32Array(kernel.buffer(), first, widthPx);
    const shares = new Float32Array(kernel.buffer(), share, widthPx);
    for (let x = 0; x < widthPx; x++) {
      const at = Math.min(Math.max((x + 0.5) / blockPx - 0.5, 0), columns - 1);
      firsts[x] = Math.min(Math.floor(at), columns - 2);
      shares[x] = at - firsts[x]!;
    }
  }
  /** Reserves memory for so many rows. */
  function lay(rowCount: number) {
    kernel.releaseFrom(mark);
    const pixels = rowCount * widthPx;
    const tiles = Math.ceil(rowCount / tilePx) * Math.ceil(widthPx / tilePx);
    const readRows = Math.min(heightPx, Math.ceil(rowCount * (1 + farthest)) + 8);
    return {
      rowCount,
      powers: floats(pixels),
      sum: floats(pixels),
      weights: floats(pixels),
      lows: floats(tiles),
      highs: floats(tiles),
      grey: kernel.allocate(greyBytes * readRows * widthPx + vectorSlack),
      out: kernel.allocate(greyBytes * pixels + vectorSlack),
    };
  }
  const greyView = (address: number, count: number) =>
    wide ? new Uint16Array(kernel.buffer(), address, count) : new Uint8Array(kernel.buffer(), address, count);
  const begun = () => {
    if (!laid) throw new RangeError('a frame before begin; allowed: begin first');
    return laid;
  };

  return {
    begin(wanted) {
      ({ from, to } = wanted);
      if (laid?.rowCount !== to - from) laid = lay(to - from);
      const { powers, sum, weights, lows, highs } = laid;
      const pixels = (to - from) * widthPx;
      new Float32Array(kernel.buffer(), blocks, columns * rows).set(wanted.blockPowersDpt);
      kernel.pixelPowers(blocks, columns, rows, blockPx, first, share, widthPx, from, to, powersLine, powers);
      kernel.tileRange(powers, widthPx, to - from, lows, highs);
      new Float32Array(kernel.buffer(), sum, pixels).fill(0);
      new Float32Array(kernel.buffer(), weights, pixels).fill(0);
    },
    add({ image, focalPowerDpt, scale }) {
      const { grey, powers, lows, highs, sum, weights } = begun();
      requireGreyImage('image', image);
      if (image.widthPx !== widthPx || image.heightPx !== heightPx || image.bitDepth !== bitDepth) {
        throw new RangeError(
          `image is ${image.widthPx} × ${image.heightPx} px of ${image.bitDepth} bit; allowed: ${widthPx} × ${heightPx} px of ${bitDepth} bit, as the other frames`,
        );
      }
      const middle = (heightPx - 1) / 2;
      const row = (y: number) => middle + scale * (y - middle);
      const firstRow = Math.max(0, Math.min(heightPx - 1, Math.floor(row(from)) - 1));
      const lastRow = Math.max(0, Math.min(heightPx - 1, Math.floor(row(to - 1)) + 2));
      const read = image.data.subarray(firstRow * widthPx, (lastRow + 1) * widthPx);
      greyView(grey, read.length).set(read);
      kernel.fuseRows(
        grey,
        wide,
        widthPx,
        heightPx,
        firstRow,
        powers,
        lows,
        highs,
        from,
        to,
        focalPowerDpt,
        halfWidthDpt,
        scale,
        line,
        sum,
        weights,
      );
    },
    settled() {
      const { sum, weights, out } = begun();
      const pixels = (to - from) * widthPx;
      kernel.settle(sum, weights, pixels, 2 ** bitDepth - 1, wide, out);
      return greyView(out, pixels);
    },
  };
}

/** Side of the tiles of the kernel. */
const tilePx = 8;
