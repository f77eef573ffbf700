/** The one place where units are converted. Everywhere else a quantity keeps the unit its name says. */

/** Millimetres in a metre. */
export const mmPerM = 1000;

/** Focal power in dpt of a lens of this focal length; the reciprocal in metres. */
export const dptFromFocalLengthMm = (focalLengthMm: number): number => mmPerM / focalLengthMm;

/** Focal length in mm of a lens of this power. */
export const mmFromDpt = (focalPowerDpt: number): number => mmPerM / focalPowerDpt;

/** µm → mm. */
export const mmFromUm = (valueUm: number): number => valueUm / 1000;

/** mm → µm. */
export const umFromMm = (valueMm: number): number => valueMm * 1000;

/** nm → mm. */
export const mmFromNm = (valueNm: number): number => valueNm / 1e6;

/** nm → µm. */
export const umFromNm = (valueNm: number): number => valueNm / 1000;

/** Degrees → radians. */
export const radFromDeg = (angleDeg: number): number => (angleDeg * Math.PI) / 180;

/** Radians → degrees. */
export const degFromRad = (angleRad: number): number => (angleRad * 180) / Math.PI;

/** s → ms. */
export const msFromS = (durationS: number): number => durationS * 1000;

/** ms → s. */
export const sFromMs = (durationMs: number): number => durationMs / 1000;

/** Line pairs per mm → cycles per pixel for a pixel pitch in µm. */
export const perPxFromPerMm = ({
  frequencyPerMm,
  pixelPitchUm,
}: {
  frequencyPerMm: number;
  pixelPitchUm: number;
}): number => frequencyPerMm * mmFromUm(pixelPitchUm);

/** Cycles per pixel → line pairs per mm on the sensor. */
export const perMmFromPerPx = ({
  frequencyPerPx,
  pixelPitchUm,
}: {
  frequencyPerPx: number;
  pixelPitchUm: number;
}): number => frequencyPerPx / mmFromUm(pixelPitchUm);
