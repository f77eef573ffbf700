import type { SpectrumRings } from '../../../image/index.js';

/** Band in which detail is told apart from shading below and noise above, in cycles per pixel. */
export const detailBandPerPx = { lowest: 0.03, highest: 0.48 } as const;

/** Fine structure in a region: mean power above the noise, over the square of the mean grey value. */
export interface Detail {
  measure: number;
  measureStd: number;
  /** Excess over the noise in standard deviations of the noise. */
  significanceRatio: number;
}

/** Detail of a measured, or of a predicted, spectrum. */
export function detailOf({
  powersDn2,
  noiseDn2,
  meanDn,
  rings,
  lowestPerPx = detailBandPerPx.lowest,
}: {
  powersDn2: ArrayLike<number>;
  noiseDn2: number;
  meanDn: number;
  rings: SpectrumRings;
  /** Default: 0.03 cycles a pixel. */
  lowestPerPx?: number;
}): Detail {
  let count = 0;
  let excess = 0;
  let variance = 0;
  rings.frequenciesPerPx.forEach((frequency, ring) => {
    if (frequency < lowestPerPx || frequency > detailBandPerPx.highest) return;
    const n = rings.coefficientCounts[ring]!;
    count += n;
    excess += n * (powersDn2[ring]! - noiseDn2);
    variance += n * powersDn2[ring]! ** 2;
  });
  const scale = 1 / (count * Math.max(meanDn, 1e-3) ** 2);
  return {
    measure: Math.max(0, excess * scale),
    measureStd: Math.sqrt(variance) * scale,
    significanceRatio: excess / (noiseDn2 * Math.sqrt(count)),
  };
}
