import { mmFromUm, requireNotNegative, requireNumber } from '../base/index.js';

/**
 * MTF of a uniform blur of one width: pixel, or straight motion.
 *
 * Formula  sin(πνw) / (πνw)
 * Returns  signed; negative = contrast reversal beyond ν = 1/w.
 * Throws   RangeError if width or frequency is negative or not finite.
 */
export function uniformBlurMtf({
  spatialFrequencyPerMm,
  widthUm,
}: {
  spatialFrequencyPerMm: number;
  widthUm: number;
}): number {
  requireNotNegative('spatialFrequencyPerMm', spatialFrequencyPerMm, 'lp/mm');
  requireNotNegative('widthUm', widthUm, 'µm');
  const x = Math.PI * spatialFrequencyPerMm * mmFromUm(widthUm);
  return x === 0 ? 1 : Math.sin(x) / x;
}

/**
 * MTF of the pixel's light-sensitive area, along its rows or columns.
 *
 * Model    square pixel, sensitive over its whole pitch (microlenses)
 * Formula  sinc(ν·p)
 * Throws   RangeError if pitch or frequency is negative or not finite.
 * Trust    cross-talk and a smaller sensitive area are left out; at 45° the MTF is the square of that at ν/√2.
 * Source   SPIE Tutorial Text TT121, ch. 6 (uniform blur)
 * Checked  reference: 0.5 cy/px → 0.63662
 */
export function pixelMtf({
  spatialFrequencyPerMm,
  pixelPitchUm,
}: {
  spatialFrequencyPerMm: number;
  pixelPitchUm: number;
}): number {
  requireNotNegative('pixelPitchUm', pixelPitchUm, 'µm');
  return uniformBlurMtf({ spatialFrequencyPerMm, widthUm: pixelPitchUm });
}

/**
 * Highest frequency that the pixels sample without aliasing.
 *
 * Formula  1 / (2p)
 * Throws   RangeError if the pitch is not > 0.
 * Checked  reference: 3.45 µm → 144.93 lp/mm
 */
export function nyquistFrequencyPerMm({ pixelPitchUm }: { pixelPitchUm: number }): number {
  return 1 / (2 * mmFromUm(requireNumber('pixelPitchUm', pixelPitchUm, { above: 0, unit: 'µm' })));
}
