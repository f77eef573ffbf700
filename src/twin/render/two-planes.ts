import type { ImageFormation } from './image-formation.js';

/**
 * A field of two planes side by side: the left part by one image formation, the rest by the other.
 *
 * Input    `firstRightPx`: the first column of the second plane; `strideCount`: numbers a row
 * Trust    nothing hides behind the step between the planes, and their blurs do not mix there.
 * Checked  property: each side equals its own plane, tests/twin/two-planes.test.ts
 */
export function twoPlanes({
  left,
  right,
  strideCount,
  firstRightPx,
}: {
  left: ImageFormation;
  right: ImageFormation;
  strideCount: number;
  firstRightPx: number;
}): ImageFormation {
  return {
    image(truePowersDpt, smearMm) {
      const image = left.image(truePowersDpt, smearMm).slice();
      const other = right.image(truePowersDpt, smearMm);
      for (let start = 0; start < image.length; start += strideCount) {
        image.set(other.subarray(start + firstRightPx, start + strideCount), start + firstRightPx);
      }
      return image;
    },
  };
}
