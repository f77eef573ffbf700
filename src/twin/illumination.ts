import { mmFromUm } from '../base/index.js';
import { fieldIllumination, type LayoutModel } from '../optics/index.js';

const radii = 256;

/**
 * Relative illumination over the field.
 *
 * Model    overlap of the two stops and cos⁴ (fieldIllumination), times a hidden loss that grows with the square of the radius
 * Returns  a function of the distance from the sensor's middle in pixels; 1 there.
 * Trust    taken at one focal power: the change with power is left out.
 */
export function illuminationOverField({
  model,
  focalPowerDpt,
  widthPx,
  heightPx,
  pixelPitchUm,
  cornerLossRatio,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  cornerLossRatio: number;
}): (radiusPx: number) => number {
  const cornerPx = Math.hypot(widthPx, heightPx) / 2;
  const table = Float64Array.from({ length: radii + 2 }, (_, i) => {
    const imageHeightMm = (i / radii) * cornerPx * mmFromUm(pixelPitchUm);
    const { relativeIllumination } = fieldIllumination({ model, focalPowerDpt, imageHeightMm });
    return relativeIllumination * (1 - cornerLossRatio * (i / radii) ** 2);
  });
  return (radiusPx) => {
    const place = (radiusPx / cornerPx) * radii;
    const low = Math.min(radii, Math.floor(place));
    return table[low]! + (place - low) * (table[low + 1]! - table[low]!);
  };
}
