import type { GreyImage, Region } from '../grey-image.js';
import type { FocusMeasureDefinition } from './focus-measure-definition.js';
import { dctRatioUnit } from './focus-sums.js';

const blockPx = 8;

/**
 * DCT energy ratio: energy of the AC coefficients over that of the DC coefficient of 8 × 8 blocks, mean over the blocks (DCT1).
 *
 * Formula  mean (Σ AC² / DC²). The orthonormal DCT-II keeps energy: Σ AC² = Σ I² − (Σ I)²/64 and DC² = (Σ I)²/64, so that no
 *          transform is needed.
 * Returns  dimensionless; not changed by a gain; black blocks count as 0; a rim of less than a block at the right and at the
 *          bottom is left out. A region smaller than a block is taken as one block.
 * Trust    an offset (black level) that is not removed lowers it; white noise of variance v adds 63 v/(64 μ²) in a block of mean μ.
 * Source   Shen & Chen (2006), as in Pertuz, Puig & Garcia (2013) (cited from memory)
 * Checked  reference: DC 134, AC energy 4652, ratio 0.259078 of the 8 × 8 check image (numpy)
 */
export const dctEnergyRatio: FocusMeasureDefinition = {
  unit: '',
  sums: ['dct-ratios'],
  value: ([ratios], region, image) => {
    const { widthPx, heightPx } = region;
    if (Math.min(widthPx, heightPx) >= blockPx) {
      const count = Math.floor(widthPx / blockPx) * Math.floor(heightPx / blockPx);
      return (Number(ratios) * dctRatioUnit) / count;
    }
    const blocks = dctBlocks(image, region);
    return (
      blocks.reduce((sum, { acEnergyDn2, dcEnergyDn2 }) => sum + ratioOf(acEnergyDn2, dcEnergyDn2), 0) / blocks.length
    );
  },
};

const ratioOf = (ac: number, dc: number): number => (dc === 0 ? 0 : ac / dc);

/** Energies of a block's DCT coefficients. */
export interface DctBlock {
  count: number;
  acEnergyDn2: number;
  dcEnergyDn2: number;
}

/** The blocks of a region from its left upper corner. */
export function dctBlocks({ data, widthPx: w }: GreyImage, region: Region): DctBlock[] {
  const wide = Math.min(blockPx, region.widthPx);
  const high = Math.min(blockPx, region.heightPx);
  const blocks: DctBlock[] = [];
  for (let y = 0; y + high <= region.heightPx; y += high) {
    for (let x = 0; x + wide <= region.widthPx; x += wide) {
      let sum = 0;
      let squares = 0;
      for (let row = 0; row < high; row++) {
        const start = (region.yPx + y + row) * w + region.xPx + x;
        for (let i = start; i < start + wide; i++) {
          const value = data[i]!;
          sum += value;
          squares += value * value;
        }
      }
      const dcEnergyDn2 = (sum * sum) / (wide * high);
      blocks.push({ count: wide * high, acEnergyDn2: squares - dcEnergyDn2, dcEnergyDn2 });
    }
  }
  return blocks;
}
