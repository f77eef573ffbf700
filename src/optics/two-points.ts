import { requireNotNegative } from '../base/index.js';

/** Shape of the pupil that images the points. For a slit they are two lines along it. */
export type PupilShape = 'circle' | 'slit';

/** Where the first dark ring of one point's image falls on the other point, in units of λ·N: Rayleigh's distance. */
export const rayleighSeparation: Record<PupilShape, number> = { circle: 3.8317059702075125 / Math.PI, slit: 1 };

/**
 * Two equally bright points (or lines) side by side, in focus: how deep the light dips between them.
 *
 * Model    incoherent light of one wavelength, perfect optics; light of both images added
 * Formula  2·I(d/2) / (I(0) + I(d)), I = (2·J1(πd)/(πd))² of a circular pupil, (sin(πd)/(πd))² of a slit
 * Input    `separation` on the sensor in units of λ·N; Rayleigh's is rayleighSeparation
 * Returns  `middleToPeak`: light in the middle over light at either point; `contrast`: (peak − middle) / (peak + middle),
 *          negative where the two run into one.
 * Throws   RangeError if the separation is negative or not finite.
 * Trust    nearer than Rayleigh's distance the peaks move together, and this ratio is no longer that of the extremes.
 * Source   Rayleigh's criterion; closed forms from memory, derived again
 * Checked  reference: 0.73503 and 0.1527 of a circle, 8/π² = 0.81057 and 0.1046 of a slit, tests/optics/two-points.test.ts
 */
export function twoPointDip({ pupil, separation }: { pupil: PupilShape; separation: number }): {
  middleToPeak: number;
  contrast: number;
} {
  requireNotNegative('separation', separation);
  const image = pupil === 'circle' ? airyPattern : (distance: number) => sinc(Math.PI * distance) ** 2;
  const peak = image(0) + image(separation);
  const middle = 2 * image(separation / 2);
  return { middleToPeak: middle / peak, contrast: (peak - middle) / (peak + middle) };
}

/** Light of a point's image at a distance in units of λ·N, 1 in the middle. */
function airyPattern(distance: number): number {
  const x = Math.PI * distance;
  return x === 0 ? 1 : ((2 * firstBessel(x)) / x) ** 2;
}

const sinc = (x: number): number => (x === 0 ? 1 : Math.sin(x) / x);

/** J1(x) = mean of cos(t − x·sin t) over half a turn: evenly spaced samples are exact to rounding once there are more than x. */
function firstBessel(x: number): number {
  const count = 24 + Math.ceil(x);
  let sum = 0;
  for (let i = 0; i < count; i++) {
    const t = (Math.PI * (i + 0.5)) / count;
    sum += Math.cos(t - x * Math.sin(t));
  }
  return sum / count;
}
