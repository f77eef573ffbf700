import { requireInteger } from '../base/index.js';
import { type GreyImage, maxGreyValueDn, type Region } from './grey-image.js';

/** A window of an image and how much it shows. */
export interface TexturedRegion {
  region: Region;
  /** Mean over the window's blocks of ln(1 + power of detail over that of the noise). */
  detailRatio: number;
  /** The greatest of all windows less that of the window in the middle: what choosing has gained. */
  gainedRatio: number;
}

const blockPx = 32;
/** Detail is looked for in the image itself and in three halvings of it: a blurred frame keeps the coarse part alone. */
const halvings = 3;
const saturatedFrom = 0.995;
const mostSaturated = 0.02;
const mostBlack = 0.9;
/** Share of the blocks that hold noise alone, at least. */
const quietShare = 0.1;
/** Block noise is of the form k·(mean + this): shot noise and a little reading noise. */
const readingDn = 1;
/** What a window in the corner must have more than one in the middle: lenses are best in the middle. */
const cornerLoss = 0.1;

/**
 * The window of an image with the most detail above the noise, spread over all of it.
 *
 * Model    power of the differences of neighbours in blocks of 32 px, in the image and in three halvings of it, over that of
 *          the noise; the noise is what the quietest tenth of the blocks shows at full resolution, growing with the mean grey
 *          value. ln(1 + ratio) keeps one hard border from outweighing texture all over; windows lie on the blocks' grid
 * Input    `images`: frames of one scene, best at different focal powers, since blur hides texture: the best frame of each
 *          block counts
 * Returns  null where every window has more than 2 % of its pixels saturated or 90 % black in every frame.
 * Throws   RangeError for no image, images of different size, or a window that does not fit or is smaller than a block.
 * Cost     one pass over each image.
 * Trust    what is textured need not be what has to be sharp: look at where it lies. Two surfaces in one window are not told
 *          apart.
 * Checked  recovery: a textured patch in a plain, noisy field, tests/image/textured-region.test.ts
 */
export function texturedRegion({
  images,
  sizePx,
}: {
  images: readonly GreyImage[];
  sizePx: { widthPx: number; heightPx: number };
}): TexturedRegion | null {
  const [first] = images;
  if (!first) throw new RangeError('images is empty; allowed: at least one');
  const { widthPx, heightPx } = first;
  if (images.some((image) => image.widthPx !== widthPx || image.heightPx !== heightPx)) {
    throw new RangeError('images have different sizes; allowed: frames of one camera and setting');
  }
  requireInteger('sizePx.widthPx', sizePx.widthPx, { min: blockPx, max: widthPx, unit: 'px' });
  requireInteger('sizePx.heightPx', sizePx.heightPx, { min: blockPx, max: heightPx, unit: 'px' });
  const columns = Math.floor(widthPx / blockPx);
  const rows = Math.floor(heightPx / blockPx);
  const seen = images.map((image) => blocksOf(image, { columns, rows }));
  const across = Math.floor(sizePx.widthPx / blockPx);
  const down = Math.floor(sizePx.heightPx / blockPx);

  const windowAt = (column: number, row: number) => {
    const sums = seen.map(() => ({ saturated: 0, black: 0 }));
    let detail = 0;
    for (let y = row; y < row + down; y++) {
      for (let x = column; x < column + across; x++) {
        let best = 0;
        seen.forEach(({ details, saturated, black }, k) => {
          const at = y * columns + x;
          best = Math.max(best, details[at]!);
          sums[k]!.saturated += saturated[at]!;
          sums[k]!.black += black[at]!;
        });
        detail += best;
      }
    }
    const blocks = across * down;
    const isUsable = sums.some(
      ({ saturated, black }) => saturated <= mostSaturated * blocks && black <= mostBlack * blocks,
    );
    return { detailRatio: detail / blocks, isUsable };
  };

  const [lastColumn, lastRow] = [columns - across, rows - down];
  const [middleColumn, middleRow] = [lastColumn / 2, lastRow / 2];
  const halfDiagonal = Math.max(1, Math.hypot(middleColumn, middleRow));
  let best: { column: number; row: number; detailRatio: number; worth: number } | null = null;
  for (let row = 0; row <= lastRow; row++) {
    for (let column = 0; column <= lastColumn; column++) {
      const { detailRatio, isUsable } = windowAt(column, row);
      const off = Math.hypot(column - middleColumn, row - middleRow) / halfDiagonal;
      const worth = detailRatio * (1 - cornerLoss * off);
      if (isUsable && (best === null || worth > best.worth)) best = { column, row, detailRatio, worth };
    }
  }
  if (best === null) return null;
  const { column, row, detailRatio } = best;
  const middle = windowAt(Math.round(middleColumn), Math.round(middleRow));
  return {
    region: {
      xPx: Math.min(column * blockPx, widthPx - sizePx.widthPx),
      yPx: Math.min(row * blockPx, heightPx - sizePx.heightPx),
      ...sizePx,
    },
    detailRatio,
    gainedRatio: detailRatio - middle.detailRatio,
  };
}

interface Blocks {
  details: Float64Array;
  /** Shares of a block's pixels. */
  saturated: Float64Array;
  black: Float64Array;
}

function blocksOf(image: GreyImage, { columns, rows }: { columns: number; rows: number }): Blocks {
  const count = columns * rows;
  const [means, saturated, black] = [new Float64Array(count), new Float64Array(count), new Float64Array(count)];
  const top = saturatedFrom * maxGreyValueDn(image);
  const pixels = blockPx * blockPx;
  for (let y = 0; y < rows * blockPx; y++) {
    const from = y * image.widthPx;
    for (let x = 0; x < columns * blockPx; x++) {
      const value = image.data[from + x]!;
      const at = Math.floor(y / blockPx) * columns + Math.floor(x / blockPx);
      means[at]! += value / pixels;
      if (value >= top) saturated[at]! += 1 / pixels;
      if (value === 0) black[at]! += 1 / pixels;
    }
  }
  let level: Level = { data: image.data, widthPx: image.widthPx, heightPx: image.heightPx };
  const finest = differencePowers(level, { columns, rows, sidePx: blockPx });
  // Blocks that are black or saturated in part show less noise than there is.
  const noisePerDn = quietest(
    finest.map((power, i) => power / (means[i]! + readingDn)).filter((_, i) => saturated[i]! + black[i]! === 0),
  );
  const details = finest.map((power, i) => power / noiseOf(i) - 1);
  for (let halving = 1; halving <= halvings; halving++) {
    level = halved(level);
    const powers = differencePowers(level, { columns, rows, sidePx: blockPx >> halving });
    powers.forEach((power, i) => {
      details[i]! += (power / noiseOf(i)) * 4 ** halving - 1;
    });
  }
  return { details: details.map((detail) => Math.log1p(Math.max(0, detail))), saturated, black };

  function noiseOf(block: number): number {
    return Math.max(1 / 12, noisePerDn * (means[block]! + readingDn));
  }
}

/** The value that a tenth lies below; 0 of none. */
const quietest = (values: Float64Array): number =>
  [...values].sort((a, b) => a - b)[Math.floor(quietShare * values.length)] ?? 0;

interface Level {
  data: ArrayLike<number>;
  widthPx: number;
  heightPx: number;
}

/** Mean square of the differences between neighbours, over 2: for white noise its variance. */
function differencePowers(
  { data, widthPx, heightPx }: Level,
  { columns, rows, sidePx }: { columns: number; rows: number; sidePx: number },
): Float64Array {
  const powers = new Float64Array(columns * rows);
  const scale = 1 / (4 * sidePx * sidePx);
  const [across, down] = [columns * sidePx, rows * sidePx];
  for (let y = 0; y < down; y++) {
    const below = y + 1 < heightPx ? widthPx : -widthPx;
    const block = Math.floor(y / sidePx) * columns;
    for (let x = 0; x < across; x++) {
      const i = y * widthPx + x;
      const beside = x + 1 < widthPx ? 1 : -1;
      const value = data[i]!;
      powers[block + Math.floor(x / sidePx)]! +=
        scale * ((data[i + beside]! - value) ** 2 + (data[i + below]! - value) ** 2);
    }
  }
  return powers;
}

/** Means of 2 × 2. */
function halved({ data, widthPx, heightPx }: Level): Level {
  const [width, height] = [widthPx >> 1, heightPx >> 1];
  const means = new Float64Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = 2 * y * widthPx + 2 * x;
      means[y * width + x] = (data[i]! + data[i + 1]! + data[i + widthPx]! + data[i + widthPx + 1]!) / 4;
    }
  }
  return { data: means, widthPx: width, heightPx: height };
}
