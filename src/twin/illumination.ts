import { mmFromUm } from '../base/index.js';
import { fieldIllumination, type LayoutModel } from '../optics/index.js';

const radii = 256;

/** Light over the field at a focal power. */
export interface FieldLight {
  /** In the corner, relative to the middle. */
  cornerRatio: number;
  /** At a distance from the sensor's middle, relative to it. */
  at(radiusPx: number): number;
}

/**
 * Relative illumination over the field, at a focal power.
 *
 * Model    overlap of the two stops and cos⁴ (fieldIllumination), times a hidden loss that grows with the square of the radius
 * Returns  the corner's ratio at once; the rest is worked out when it is asked for.
 */
export function illuminationOverField({
  model,
  widthPx,
  heightPx,
  pixelPitchUm,
  cornerLossRatio,
}: {
  model: LayoutModel;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  cornerLossRatio: number;
}): (focalPowerDpt: number) => FieldLight {
  const cornerPx = Math.hypot(widthPx, heightPx) / 2;
  const ratioAt = (focalPowerDpt: number, place: number) => {
    const imageHeightMm = place * cornerPx * mmFromUm(pixelPitchUm);
    const { relativeIllumination } = fieldIllumination({ model, focalPowerDpt, imageHeightMm });
    return relativeIllumination * (1 - cornerLossRatio * place ** 2);
  };
  return (focalPowerDpt) => {
    let table: Float64Array | undefined;
    return {
      cornerRatio: ratioAt(focalPowerDpt, 1),
      at(radiusPx) {
        table ??= Float64Array.from({ length: radii + 2 }, (_, i) => ratioAt(focalPowerDpt, i / radii));
        const place = (radiusPx / cornerPx) * radii;
        const low = Math.min(radii, Math.floor(place));
        return table[low]! + (place - low) * (table[low + 1]! - table[low]!);
      },
    };
  };
}
