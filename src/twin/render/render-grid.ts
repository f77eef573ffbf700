/** The periodic piece of the object plane that is imaged, and the frequencies that are kept of it. */
export interface RenderGrid {
  /** Period of the piece; its middle is the middle of the field. */
  periodWidthMm: number;
  periodHeightMm: number;
  /** Samples of the piece, products of 2, 3 and 5. */
  gridColumnCount: number;
  gridRowCount: number;
  /** Frequencies kept: |kx| ≤ halfColumnCount and |ky| ≤ halfRowCount cycles per period. */
  halfColumnCount: number;
  halfRowCount: number;
}

/** Grid samples over the least number that the kept frequencies need; see kaiser-bessel.ts for what it buys. */
const oversampling = 1.15;
/** Width of the strip around the field, at least; a blur disc at the border sees what lies there. */
const leastMarginPx = 16;

/**
 * Chooses the piece of the object plane to be imaged and its sampling.
 *
 * Model    the field at the smallest magnification plus a margin on all sides; frequencies up to `highestPerPx` on the
 *          sensor at the middle magnification
 * Returns  see RenderGrid.
 * Checked  property: covers field and frequencies, tests/twin/render/render-grid.test.ts
 */
export function renderGrid({
  widthPx,
  heightPx,
  pixelPitchMm,
  magnificationMin,
  magnificationMax,
  highestPerPx,
  marginPx,
}: {
  widthPx: number;
  heightPx: number;
  pixelPitchMm: number;
  magnificationMin: number;
  magnificationMax: number;
  highestPerPx: number;
  /** Wanted margin on each side, in pixels; at least 16, at most an eighth of the field. */
  marginPx: number;
}): RenderGrid {
  const perPxMm = pixelPitchMm / magnificationMin;
  const middlePxMm = (2 * pixelPitchMm) / (magnificationMin + magnificationMax);
  const along = (lengthPx: number) => {
    const margin = Math.max(leastMarginPx, Math.min(marginPx, lengthPx / 8));
    const periodMm = (lengthPx + 2 * margin) * perPxMm;
    const half = Math.ceil((highestPerPx * periodMm) / middlePxMm);
    return { periodMm, half, count: smoothCount(Math.ceil(2 * half * oversampling) + 8) };
  };
  const x = along(widthPx);
  const y = along(heightPx);
  return {
    periodWidthMm: x.periodMm,
    periodHeightMm: y.periodMm,
    gridColumnCount: x.count,
    gridRowCount: y.count,
    halfColumnCount: x.half,
    halfRowCount: y.half,
  };
}

/** Of the frequency (kx, ky), in cycles per mm on the object. */
export function radialFrequencyPerMm(grid: RenderGrid, kx: number, ky: number): number {
  const x = kx / grid.periodWidthMm;
  const y = ky / grid.periodHeightMm;
  return Math.sqrt(x * x + y * y);
}

/** The highest frequency of the grid, at its corner. */
export const highestFrequencyPerMm = (grid: RenderGrid): number =>
  radialFrequencyPerMm(grid, grid.halfColumnCount, grid.halfRowCount);

/** The next multiple of 4 that has no prime factor but 2, 3 and 5. */
function smoothCount(least: number): number {
  for (let count = Math.ceil(least / 4) * 4; ; count += 4) {
    let rest = count;
    for (const prime of [2, 3, 5]) while (rest % prime === 0) rest /= prime;
    if (rest === 1) return count;
  }
}
