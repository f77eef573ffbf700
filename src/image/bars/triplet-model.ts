import { normalDensity, normalIntegral } from './normal-table.js';

/** Three blurred bars in the axes of a patch. */
export interface TripletModel {
  /** Ground at the middle and its change over one bar width, across and along. */
  groundDn: number;
  acrossDn: number;
  alongDn: number;
  /** Bars minus ground, before blur. */
  stepDn: number;
  /** Middle, across and along, px. */
  u0: number;
  v0: number;
  /** Turn of the bars against the patch's axes. */
  turnRad: number;
  barWidthPx: number;
  /** Length of the bars in units of five bar widths. */
  lengthRatio: number;
  /** Gaussian blur, pixel included. */
  blurPx: number;
}

/** Order of the parameters in a vector. */
export const tripletTerms = [
  'groundDn',
  'acrossDn',
  'alongDn',
  'stepDn',
  'u0',
  'v0',
  'turnRad',
  'barWidthPx',
  'lengthRatio',
  'blurPx',
] as const satisfies readonly (keyof TripletModel)[];

/** Half of a bar's length, in bar widths. */
export const halfLength = 2.5;

const barEdges = [-2.5, -1.5, -0.5, 0.5, 1.5, 2.5];

/** Share of bar at a distance across the bars (0 ground, 1 bar), as far as the blur across goes. */
export function acrossShare({ barWidthPx, blurPx }: TripletModel, uPx: number): number {
  let share = 0;
  for (let e = 0; e < 6; e++) {
    const part = normalIntegral((uPx - barEdges[e]! * barWidthPx) / blurPx);
    share += e & 1 ? -part : part;
  }
  return share;
}

/** Its change per pixel of blur. */
export function acrossShareByBlur({ barWidthPx, blurPx }: TripletModel, uPx: number): number {
  let slope = 0;
  for (let e = 0; e < 6; e++) {
    const z = (uPx - barEdges[e]! * barWidthPx) / blurPx;
    slope += ((e & 1 ? 1 : -1) * normalDensity(z) * z) / blurPx;
  }
  return slope;
}

/**
 * Grey value of the model at a sample, and its derivatives by tripletTerms.
 *
 * Model    ground plane + step · across(u) · along(v); Gaussian blur, which is separable
 */
export function tripletAt(model: TripletModel, uPx: number, vPx: number, slopes: Float64Array): number {
  const { stepDn, turnRad, barWidthPx: w, lengthRatio, blurPx: s } = model;
  const du = uPx - model.u0;
  const dv = vPx - model.v0;
  const u = du + turnRad * dv;
  const v = dv - turnRad * du;
  let across = 0;
  let byU = 0;
  let byWidth = 0;
  let byBlur = 0;
  for (let e = 0; e < 6; e++) {
    const z = (u - barEdges[e]! * w) / s;
    const sign = e & 1 ? -1 : 1;
    across += sign * normalIntegral(z);
    const density = (sign * normalDensity(z)) / s;
    byU += density;
    byWidth -= density * barEdges[e]!;
    byBlur -= density * z;
  }
  const half = halfLength * lengthRatio * w;
  const z1 = (v + half) / s;
  const z2 = (v - half) / s;
  const along = normalIntegral(z1) - normalIntegral(z2);
  const d1 = normalDensity(z1) / s;
  const d2 = normalDensity(z2) / s;
  const byV = d1 - d2;
  const byHalf = d1 + d2;
  slopes[0] = 1;
  slopes[1] = u / w;
  slopes[2] = v / w;
  slopes[3] = across * along;
  slopes[4] = -stepDn * (byU * along - turnRad * across * byV);
  slopes[5] = -stepDn * (across * byV + turnRad * byU * along);
  slopes[6] = stepDn * (byU * along * dv - across * byV * du);
  slopes[7] = stepDn * (byWidth * along + across * byHalf * halfLength * lengthRatio);
  slopes[8] = stepDn * across * byHalf * halfLength * w;
  slopes[9] = stepDn * (byBlur * along - across * (d1 * z1 - d2 * z2));
  return model.groundDn + (model.acrossDn * u + model.alongDn * v) / w + stepDn * across * along;
}
