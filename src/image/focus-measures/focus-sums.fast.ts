import type { GreyImage, Region } from '../grey-image.js';
import { type FocusKernel, focusKernel, kernelSums } from './focus-kernel.js';
import { type FocusSum, focusSums, focusSumTerms, wholeBlocks } from './focus-sums.js';

/** A strip fits the second-level cache, so that several sums read the picture's memory once. */
const stripBytes = 1 << 17;
/** Strips of whole tiles. */
const stripRows = 32;
/** Rows before and after a strip that its terms may read. */
const rowsBefore = 1;
const rowsAfter = 2;
/** Up to this bit depth no check of the kernels' 16-bit arithmetic is needed. */
const narrowBitDepth = 12;

/**
 * As focusSums, by the kernels of assembly/focus.ts (WebAssembly with SIMD): the same integers. Strips of rows are copied into the
 * kernels' memory, all sums are taken of a strip while it is in the cache. Without WebAssembly the readable version runs.
 *
 * Cost     0.15 to 0.5 ns a pixel and sum; docs/image/kernels.md
 * Checked  property: equal to focusSums on random pictures, depths, regions
 */
export function focusSumsFast(image: GreyImage, region: Region, names: readonly FocusSum[]): bigint[] {
  const kernel = focusKernel();
  if (kernel === null) return focusSums(image, region, names);
  const totals = names.map(() => 0n);
  const strips = stripsOf(image, region);
  for (let fromRow = 0; fromRow < region.heightPx; fromRow += strips.rowCount) {
    const toRow = Math.min(region.heightPx, fromRow + strips.rowCount);
    const job = loadStrip(kernel, { image, region, strideBytes: strips.strideBytes, fromRow, toRow });
    for (const [at, name] of names.entries()) {
      const { margins, blockPx = 1 } = focusSumTerms[name];
      const { leftPx, topPx, rightPx, bottomPx } = margins;
      const first = Math.max(fromRow, topPx);
      job.words[0] = job.rowsAt + (first - fromRow) * strips.strideBytes + leftPx * job.pixelBytes;
      job.words[2] = wholeBlocks(region.widthPx - leftPx - rightPx, blockPx);
      // Strips are whole blocks high, but for the last one.
      job.words[3] = wholeBlocks(Math.min(toRow, region.heightPx - bottomPx) - first, blockPx);
      kernel.sumStrip(kernelSums[name], kernel.jobAt);
      totals[at]! += job.total[0]!;
    }
  }
  return totals;
}

/** How a region is cut: bytes from row to row in the kernels' memory, and rows a strip. */
function stripsOf({ data }: GreyImage, { widthPx }: Region): { strideBytes: number; rowCount: number } {
  const rowBytes = widthPx * data.BYTES_PER_ELEMENT;
  // Rows a multiple of 512 bytes apart would fall on the same lines of the first-level cache.
  const strideBytes = rowBytes % 512 === 0 ? rowBytes + 64 : rowBytes;
  return { strideBytes, rowCount: stripRows * Math.max(1, Math.floor(stripBytes / strideBytes / stripRows)) };
}

function loadStrip(
  kernel: FocusKernel,
  {
    image,
    region,
    strideBytes,
    fromRow,
    toRow,
  }: { image: GreyImage; region: Region; strideBytes: number; fromRow: number; toRow: number },
) {
  const { data, widthPx } = image;
  const first = Math.max(0, fromRow - rowsBefore);
  const last = Math.min(region.heightPx, toRow + rowsAfter);
  const buffer = kernel.reserve((last - first) * strideBytes);
  const pixelBytes = data.BYTES_PER_ELEMENT;
  const source = (region.yPx + first) * widthPx + region.xPx;
  if (region.widthPx === widthPx && strideBytes === widthPx * pixelBytes) {
    pixelsOf(buffer, kernel.pixelsAt, data).set(data.subarray(source, source + (last - first) * widthPx));
  } else {
    const target = pixelsOf(buffer, kernel.pixelsAt, data);
    const step = strideBytes / pixelBytes;
    for (let row = 0; row < last - first; row++) {
      const start = source + row * widthPx;
      target.set(data.subarray(start, start + region.widthPx), row * step);
    }
  }
  const words = new Uint32Array(buffer, kernel.jobAt, 6);
  words[1] = strideBytes;
  words[4] = pixelBytes;
  words[5] = image.bitDepth <= narrowBitDepth ? 1 : 0;
  const rowsAt = kernel.pixelsAt + (fromRow - first) * strideBytes;
  return { words, total: new BigInt64Array(buffer, kernel.jobAt + 24, 1), rowsAt, pixelBytes };
}

const pixelsOf = (buffer: ArrayBuffer, at: number, like: Uint8Array | Uint16Array) =>
  like instanceof Uint8Array ? new Uint8Array(buffer, at) : new Uint16Array(buffer, at);
