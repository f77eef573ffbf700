import { mmFromUm, requireInteger, requirePositive } from '../base/index.js';

/**
 * Size of a sensor's image area from its pixels. The name of a format never replaces it.
 *
 * Formula  width = columns · pitch
 * Throws   RangeError naming the field, if a count is not a whole number > 0 or the pitch not > 0.
 * Checked  reference: 2448 × 2048 at 3.45 µm → 8.446 × 7.066, diagonal 11.011 mm
 */
export function sensorSize({ columns, rows, pixelPitchUm }: { columns: number; rows: number; pixelPitchUm: number }): {
  widthMm: number;
  heightMm: number;
  diagonalMm: number;
} {
  requireInteger('columns', columns, { min: 1 });
  requireInteger('rows', rows, { min: 1 });
  requirePositive('pixelPitchUm', pixelPitchUm, 'µm');
  const widthMm = mmFromUm(columns * pixelPitchUm);
  const heightMm = mmFromUm(rows * pixelPitchUm);
  return { widthMm, heightMm, diagonalMm: Math.hypot(widthMm, heightMm) };
}

/** A format's name fits the sensor if the diagonals differ by no more than this fraction. */
const labelTolerance = 0.05;

/**
 * Whether a format's name in inches fits a sensor's diagonal.
 *
 * Model    names go back to tube sizes: diagonal 16 mm per inch from 1/2 inch up, 18 mm per inch below
 * Returns  the diagonal that the name stands for, its relative difference, and `fits` within 5 %.
 * Throws   RangeError naming the field, if one is not > 0.
 * Trust    names are not standardised: a misfit is a reason to look, not an error.
 * Source   16 mm and 1 inch: public encyclopaedia; the split at 1/2 inch: a public optics glossary
 * Checked  reference: eight formats, tests/optics/sensor-format.test.ts
 */
export function checkFormatLabel({ formatInch, diagonalMm }: { formatInch: number; diagonalMm: number }): {
  labelDiagonalMm: number;
  relativeDifference: number;
  fits: boolean;
} {
  requirePositive('formatInch', formatInch, 'inch');
  requirePositive('diagonalMm', diagonalMm, 'mm');
  const labelDiagonalMm = formatInch * (formatInch >= 0.5 ? 16 : 18);
  const relativeDifference = diagonalMm / labelDiagonalMm - 1;
  return { labelDiagonalMm, relativeDifference, fits: Math.abs(relativeDifference) <= labelTolerance };
}
