import { gaussLegendre } from '../../optics/gauss-legendre.js';
import { discTransform } from './disc-transform.js';
import { fourierSum } from './fourier.js';

/** The blur of an ideal edge: defocused lens ∗ Gaussian ∗ the pixel's square as seen along the edge's normal. */
export interface EdgeBlur {
  /** λN in pixels, the reciprocal of the cutoff frequency; 0 = no diffraction. It brings the long tails of a real lens. */
  diffractionPx: number;
  /** Radius of the disc, squared. */
  discPx2: number;
  /** Variance of the Gaussian. */
  gaussPx2: number;
  /** Angle between the edge's normal and the pixel rows. */
  tiltRad: number;
}

/** Variance of the line spread function's core along the normal (diffraction's own is not finite: that of its core is taken). */
export const blurVariancePx2 = ({ diffractionPx, discPx2, gaussPx2 }: EdgeBlur): number =>
  0.2 * diffractionPx ** 2 + discPx2 / 4 + gaussPx2 + 1 / 12;

/** OTF at a frequency along the normal, and its derivatives by the three blurs. */
export function blurOtf({ diffractionPx, discPx2, gaussPx2, tiltRad }: EdgeBlur, frequencyPerPx: number) {
  const k = 2 * Math.PI * frequencyPerPx;
  const rest =
    Math.exp((-k * k * gaussPx2) / 2) *
    sinc(frequencyPerPx * Math.cos(tiltRad)) *
    sinc(frequencyPerPx * Math.sin(tiltRad));
  const lens = lensOtf(diffractionPx * frequencyPerPx, k, discPx2);
  return {
    value: lens.value * rest,
    byDisc: lens.byDisc * rest,
    byGauss: (-k * k * lens.value * rest) / 2,
    byDiffraction: lens.byS * frequencyPerPx * rest,
  };
}

/**
 * OTF of a defocused circular pupil, s = frequency/cutoff, disc = radius² of its geometric blur disc; the disc itself at s = 0.
 *
 * Formula  (4/π)·∫ cos(kR(sin t − s))·cos² t dt, t from asin s to π/2 (Hopkins 1955 with W20 = R/(4λN))
 */
function lensOtf(s: number, k: number, discPx2: number) {
  if (s >= 1) return { value: 0, byDisc: 0, byS: 0 };
  const z = k * Math.sqrt(discPx2);
  if (s === 0) {
    const { value, slope } = discTransform(z);
    return { value, byDisc: k * k * slope, byS: (-4 / Math.PI) * value };
  }
  const { nodes, weights } = z < 12 ? shortRule : z < 40 ? middleRule : longRule;
  const half = Math.acos(s) / 2;
  let value = 0;
  let bySquare = 0;
  let byS = 0;
  for (let i = 0; i < nodes.length; i++) {
    const sine = Math.sin(Math.PI / 2 + half * (nodes[i]! - 1));
    const reach = sine - s;
    const w = weights[i]! * (1 - sine * sine);
    const phase = z * reach;
    const sin = Math.sin(phase);
    value += w * Math.cos(phase);
    bySquare -= w * reach * reach * (phase < 1e-4 ? 1 : sin / phase);
    byS += w * sin;
  }
  const scale = (4 / Math.PI) * half;
  return {
    value: scale * value,
    byDisc: (scale * bySquare * k * k) / 2,
    byS: scale * z * byS - (4 / Math.PI) * Math.sqrt(1 - s * s),
  };
}

const shortRule = gaussLegendre(12);
const middleRule = gaussLegendre(28);
const longRule = gaussLegendre(96);

/** Edge spread function of a blur and its derivatives, on a grid centred on the edge: d = (i − size/2)·stepPx. */
export interface EdgeTables {
  stepPx: number;
  size: number;
  esf: Float64Array;
  /** dESF/dd */
  lsf: Float64Array;
  byDisc: Float64Array;
  byGauss: Float64Array;
  byDiffraction: Float64Array;
}

/**
 * Tabulates an edge by its Fourier series: a step in a period of size·stepPx.
 *
 * Formula  ESF(d) = ½ + d/T + Σ_k≠0 OTF(k/T)/(2πik)·exp(2πikd/T), exact for |d| < T/2 less the blur's reach
 */
export function tabulateEdge(blur: EdgeBlur, stepPx: number, size: number): EdgeTables {
  const period = size * stepPx;
  // Two real series in one complex sum each: ESF + i·byDiffraction, byDisc + i·byGauss; (−1)^k moves d = 0 to the middle.
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  const reBy = new Float64Array(size);
  const imBy = new Float64Array(size);
  const last = Math.min(size / 2 - 1, Math.floor(period * highestFrequencyPerPx(blur)));
  for (let k = 1; k <= last; k++) {
    const f = k / period;
    const { value, byDisc, byGauss, byDiffraction } = blurOtf(blur, f);
    // Reading between two nodes by a straight line blurs by sinc²(f·step): undone beforehand.
    const per = (k & 1 ? -1 : 1) / sinc(f * stepPx) ** 2 / (2 * Math.PI * f);
    re[k] = per * byDiffraction;
    re[size - k] = -per * byDiffraction;
    im[k] = -per * value;
    im[size - k] = per * value;
    reBy[k] = per * byGauss;
    reBy[size - k] = -per * byGauss;
    imBy[k] = -per * byDisc;
    imBy[size - k] = per * byDisc;
  }
  fourierSum(re, im);
  fourierSum(reBy, imBy);
  for (let i = 0; i < size; i++) {
    re[i] = re[i]! / period + (i - size / 2) / size + 0.5;
    im[i] = im[i]! / period;
    reBy[i] = reBy[i]! / period;
    imBy[i] = imBy[i]! / period;
  }
  const lsf = new Float64Array(size);
  for (let i = 1; i < size - 1; i++) lsf[i] = (re[i + 1]! - re[i - 1]!) / (2 * stepPx);
  return { stepPx, size, esf: re, lsf, byDisc: reBy, byGauss: imBy, byDiffraction: im };
}

/** Beyond it the blur passes less than e^−24, or nothing. */
const highestFrequencyPerPx = ({ diffractionPx, gaussPx2 }: EdgeBlur): number =>
  Math.min(1 / diffractionPx, Math.sqrt(12 / gaussPx2) / Math.PI);

const sinc = (x: number): number => (Math.abs(x) < 1e-9 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
