import { requireInteger, requireNotNegative, requirePositive } from '../base/index.js';

/** One wavelength that stands for a part of the light. */
export interface SpectralLine {
  wavelengthNm: number;
  /** Share of the light; all together 1. */
  weight: number;
}

/** Full width at half maximum of a Gaussian / its standard deviation. */
const fwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);
/** Where the spectrum is cut, in standard deviations: 1 % of the light lies beyond. */
const cutSigmas = 2.5;
/** No wavelength below this share of the centre's stands for light. */
const shortestShare = 0.5;

/**
 * A Gaussian spectrum as a few wavelengths.
 *
 * Model    evenly spaced over ± 2.5 standard deviations, weighted by the Gaussian: such a sum converges faster than any
 *          power of the step
 * Input    `count`: an odd number, so that the centre is one of them.
 * Returns  the centre alone for a width of 0 or a count of 1; symmetrical about the centre.
 * Throws   RangeError naming the field, if the wavelength is not > 0, the width negative, or the count even or > 41.
 * Trust    a phosphor-converted white light has two humps and a sensor its own colour response: a Gaussian is the
 *          plainest stand-in. Widths near the wavelength itself are cut at half of it, on both sides alike.
 * Source   derived in docs/optics/colour-and-coma.md
 * Checked  closed form: mean and variance of the Gaussian, tests/optics/spectrum.test.ts
 */
export function gaussianSpectrum({
  wavelengthNm,
  bandwidthNm,
  count,
}: {
  wavelengthNm: number;
  bandwidthNm: number;
  count: number;
}): SpectralLine[] {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requireNotNegative('bandwidthNm', bandwidthNm, 'nm');
  requireInteger('count', count, { min: 1, max: 41 });
  if (count % 2 === 0) throw new RangeError(`count is ${count}; allowed: an odd number, so that the centre counts`);
  if (bandwidthNm === 0 || count === 1) return [{ wavelengthNm, weight: 1 }];
  const sigmaNm = bandwidthNm / fwhmPerSigma;
  const halfNm = Math.min(cutSigmas * sigmaNm, (1 - shortestShare) * wavelengthNm);
  const offsetsNm = Array.from({ length: count }, (_, i) => halfNm * ((2 * i) / (count - 1) - 1));
  const heights = offsetsNm.map((offsetNm) => Math.exp(-0.5 * (offsetNm / sigmaNm) ** 2));
  const total = heights.reduce((sum, height) => sum + height, 0);
  return offsetsNm.map((offsetNm, i) => ({ wavelengthNm: wavelengthNm + offsetNm, weight: heights[i]! / total }));
}
