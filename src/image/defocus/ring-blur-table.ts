import { requirePositive } from '../../base/index.js';
import { type AberratedOtfGrid, aberratedOtfGrid, type GridPlaces } from '../../optics/index.js';
import type { SpectrumRings } from './spectrum-rings.js';

/** A blur as a hypothesis has it. */
export interface RingBlur {
  /** Radius of the blur disc off the sharpest focus; its sign tells the side, on which spherical aberration differs. */
  blurRadiusPx: number;
  /** How far that may be off, 1σ. */
  blurRadiusStdPx: number;
  /** W040. Default: none. */
  sphericalWaves?: number;
}

/** What defocus leaves of the power in each ring. */
export interface RingBlurTable {
  readonly maxBlurRadiusPx: number;
  /**
   * Share of the power in each ring into `shares`; into `spreads`, where given, the variance of that share among the
   * frequencies of the ring, relative to its square: large at the zeros of the transfer function.
   */
  read(blur: RingBlur, shares: Float64Array, spreads?: Float64Array): void;
  /** What `read` reads, for a kernel that reads by itself. */
  readonly layers: BlurLayers;
}

/** Rows of a table: one for each radius, of one number for each ring. */
export interface BlurLayers {
  /** Symmetrical about 0; R = bend·sinh(row·step/bend), row 0 in the middle. */
  readonly radiiPx: Float64Array;
  readonly rowStepPx: number;
  readonly rowBendPx: number;
  /** W040 of level i is i times this. */
  readonly sphericalStepWaves: number;
  readonly levelCount: number;
  /** Uncertainty of the blur radius from which on the next layer serves; the last has no end. */
  readonly stdEndsPx: readonly number[];
  shares(level: number, std: number): Float32Array;
  spreads(level: number): Float32Array;
}

/** Spherical aberration for which the table is kept; between them linear. */
const sphericalStepWaves = 0.2;
const mostSphericalWaves = 0.4;
const levels = Math.round(mostSphericalWaves / sphericalStepWaves);
/** Rows lie this far apart near focus, farther where blur changes less: R = bend·sinh(row·step/bend). */
const rowStepPx = 0.2;
const rowBendPx = 10;
/** Beyond the cutoff nothing passes but stray light. */
const leastShare = 1e-8;
/** Uncertainties of the blur radius for which the table is kept, 1σ. */
const blurStdsPx = [0.15, 0.3, 0.6, 1.2, 2.4, 4.8];
const stdEndsPx = blurStdsPx.slice(0, -1).map((std) => 1.41 * std);
/** The sharpest focus is the one with the highest contrast at this frequency, in cycles per pixel. */
const sharpestAtPerPx = 0.25;

/** Defocus in waves at the pupil's edge that spreads a point over a disc of this radius: R = 4·W20/cutoff. */
export const wavesOfBlurRadius = ({
  blurRadiusPx,
  cutoffPerPx,
}: {
  blurRadiusPx: number;
  cutoffPerPx: number;
}): number => (blurRadiusPx * cutoffPerPx) / 4;

const grids = new Map<number, AberratedOtfGrid>();
/** Made once for all optics: they are told in waves and cutoffs. */
const otfGrid = (sphericalWaves: number): AberratedOtfGrid => {
  const found = grids.get(sphericalWaves) ?? aberratedOtfGrid({ sphericalWaves });
  grids.set(sphericalWaves, found);
  return found;
};

/**
 * Table of the defocused pupil's mean squared transfer in rings of a spectrum, over the blur radius and spherical aberration.
 *
 * Model    exact transfer function of the pupil with defocus and primary spherical aberration at the frequencies a ring's
 *          power comes from, pixel aperture; averaged over the uncertainty of the blur radius
 * Formula  ⟨(OTF(f/cutoff, R·cutoff/4 + d, W040) · sinc f_x · sinc f_y)²⟩ over ring, direction and R ± std; d: where the
 *          contrast at 0.25 cycles per pixel is highest
 * Returns  reads blur radii beyond the limit as the limit, W040 beyond ± 0.4 waves as that; linear between steps.
 * Throws   RangeError if cutoff or limit is not > 0.
 * Cost     a level of W040 and an uncertainty are filled when they are first read: some milliseconds, the very first some tens more;
 *          reading: about 0.1 µs a ring.
 * Trust    one wavelength, no coma or astigmatism.
 * Checked  closed form: in focus and by direct sum, tests/image/defocus/ring-blur-table.test.ts
 */
export function ringBlurTable({
  rings,
  cutoffPerPx,
  maxBlurRadiusPx,
}: {
  rings: SpectrumRings;
  /** Frequency from which on the optics pass nothing, in cycles per pixel: pitch/(λ·N). */
  cutoffPerPx: number;
  maxBlurRadiusPx: number;
}): RingBlurTable {
  requirePositive('cutoffPerPx', cutoffPerPx, '1/px');
  requirePositive('maxBlurRadiusPx', maxBlurRadiusPx, 'px');
  const count = rings.samples.length;
  const side = Math.ceil(rowOf(maxBlurRadiusPx)) + 1;
  const radiiPx = Float64Array.from({ length: 2 * side + 1 }, (_, row) => radiusOf(row - side));
  const exactAt = exactShares({ rings, cutoffPerPx, radiiPx });
  const exact = new Array<ExactLevel | undefined>(levels + 1);
  const levelOf = (level: number): ExactLevel => (exact[level] ??= exactAt(level));
  const smeared = new Array<Float32Array | undefined>((levels + 1) * blurStdsPx.length);
  const tableOf = (level: number, std: number): Float32Array =>
    (smeared[level * blurStdsPx.length + std] ??= averagedOver(levelOf(level).shares, {
      radiiPx,
      count,
      stdPx: blurStdsPx[std]!,
    }));
  return {
    maxBlurRadiusPx,
    read({ blurRadiusPx, blurRadiusStdPx, sphericalWaves = 0 }, shares, spreads) {
      let std = 0;
      while (std < stdEndsPx.length && blurRadiusStdPx > stdEndsPx[std]!) std++;
      const heldPx = Math.max(-maxBlurRadiusPx, Math.min(maxBlurRadiusPx, blurRadiusPx));
      const strength = Math.min(levels, Math.abs(sphericalWaves) / sphericalStepWaves);
      const level = Math.min(levels - 1, Math.floor(strength));
      const mix = strength - level;
      // The other sign of W040 is the other side of focus.
      const radiusPx = sphericalWaves === 0 ? Math.abs(heldPx) : sphericalWaves < 0 ? -heldPx : heldPx;
      const row = Math.floor(rowOf(radiusPx)) + side;
      const part = (radiusPx - radiiPx[row]!) / (radiiPx[row + 1]! - radiiPx[row]!);
      const low = tableOf(level, std);
      const high = mix === 0 ? low : tableOf(level + 1, std);
      const at = row * count;
      for (let ring = 0; ring < count; ring++) {
        const a = (1 - part) * low[at + ring]! + part * low[at + count + ring]!;
        shares[ring] = mix === 0 ? a : a + mix * ((1 - part) * high[at + ring]! + part * high[at + count + ring]! - a);
      }
      if (spreads === undefined) return;
      const from = levelOf(mix < 0.5 ? level : level + 1).spreads;
      for (let ring = 0; ring < count; ring++) spreads[ring] = from[at + ring]!;
    },
    layers: {
      radiiPx,
      rowStepPx,
      rowBendPx,
      sphericalStepWaves,
      levelCount: levels + 1,
      stdEndsPx,
      shares: tableOf,
      spreads: (level) => levelOf(level).spreads,
    },
  };
}

const rowOf = (radiusPx: number): number => (rowBendPx / rowStepPx) * Math.asinh(radiusPx / rowBendPx);
const radiusOf = (row: number): number => rowBendPx * Math.sinh((row * rowStepPx) / rowBendPx);

/** Shares and spreads at one W040, a row for each radius. */
interface ExactLevel {
  shares: Float32Array;
  spreads: Float32Array;
}

/** Reckons a level of W040; the radii lie symmetrically about 0. */
function exactShares({
  rings,
  cutoffPerPx,
  radiiPx,
}: {
  rings: SpectrumRings;
  cutoffPerPx: number;
  radiiPx: Float64Array;
}): (level: number) => ExactLevel {
  const last = radiiPx.length - 1;
  const samples = rings.samples.flat();
  const parts = Float64Array.from(samples, ({ weight }) => weight);
  const ends = rings.samples.map(({ length }) => length);
  const count = ends.length;
  const places = otfGrid(0).place(samples.map(({ frequencyPerPx }) => frequencyPerPx / cutoffPerPx));
  const pixel = Float64Array.from(samples, ({ frequencyPerPx }) => pixelPower(frequencyPerPx));
  const otf = new Float64Array(samples.length);
  return (level) => {
    const weights = parabolaThrough(level / levels);
    const sharpest = sharpestWaves({ weights, cutoffPerPx });
    const shares = new Float32Array(radiiPx.length * count);
    const spreads = new Float32Array(shares.length);
    for (let row = level === 0 ? last / 2 : 0; row <= last; row++) {
      const waves = wavesOfBlurRadius({ blurRadiusPx: radiiPx[row]!, cutoffPerPx }) + sharpest;
      mixedOtf({ places, waves, weights }, { otf });
      for (let ring = 0, i = 0, end = 0; ring < count; ring++) {
        let mean = 0;
        let square = 0;
        for (end += ends[ring]!; i < end; i++) {
          const share = otf[i]! * otf[i]! * pixel[i]!;
          mean += parts[i]! * share;
          square += parts[i]! * share * share;
        }
        const at = row * count + ring;
        shares[at] = Math.max(leastShare, mean);
        spreads[at] = Math.max(0, square / Math.max(mean * mean, leastShare * leastShare) - 1);
        if (level === 0) {
          const mirrored = (last - row) * count + ring;
          shares[mirrored] = shares[at]!;
          spreads[mirrored] = spreads[at]!;
        }
      }
    }
    return { shares, spreads };
  };
}

/** Weights of W040 = −0.4, 0 and 0.4 waves for a part of 0.4 waves. */
const parabolaThrough = (part: number): readonly [number, number, number] => [
  (part * (part - 1)) / 2,
  1 - part * part,
  (part * (part + 1)) / 2,
];

const spare = { below: new Float64Array(0), above: new Float64Array(0) };

/** Transfer function at the placed frequencies for a defocus off the balanced focus. */
function mixedOtf(
  { places, waves, weights }: { places: GridPlaces; waves: number; weights: readonly [number, number, number] },
  { otf }: { otf: Float64Array },
): void {
  const [below, middle, above] = weights;
  if (above !== 1) otfGrid(0).readAll(places, waves, otf);
  if (middle === 1) return;
  const spherical = otfGrid(mostSphericalWaves);
  if (above === 1) {
    spherical.readAll(places, waves, otf);
    return;
  }
  if (spare.below.length < otf.length) {
    spare.below = new Float64Array(otf.length);
    spare.above = new Float64Array(otf.length);
  }
  // The other sign of W040 is the other side of focus.
  spherical.readAll(places, -waves, spare.below);
  spherical.readAll(places, waves, spare.above);
  for (let i = 0; i < otf.length; i++) {
    otf[i] = below * spare.below[i]! + middle * otf[i]! + above * spare.above[i]!;
  }
}

/** Defocus off the balanced focus at which the contrast at 0.25 cycles per pixel is highest. */
function sharpestWaves({
  weights,
  cutoffPerPx,
}: {
  weights: readonly [number, number, number];
  cutoffPerPx: number;
}): number {
  const places = otfGrid(0).place([Math.min(0.8, sharpestAtPerPx / cutoffPerPx)]);
  const read = { otf: new Float64Array(1) };
  const contrast = (waves: number): number => {
    mixedOtf({ places, waves, weights }, read);
    return read.otf[0]!;
  };
  let best = 0;
  let highest = contrast(0);
  for (let step = -60; step <= 60; step++) {
    const value = contrast(step / 200);
    if (value > highest) {
      highest = value;
      best = step / 200;
    }
  }
  return best;
}

const directions = 8;

/** Squared transfer of the pixel's area, mean over directions. */
function pixelPower(frequencyPerPx: number): number {
  const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
  let sum = 0;
  for (let i = 0; i < directions; i++) {
    const angle = ((i + 0.5) * Math.PI) / (4 * directions);
    sum += (sinc(frequencyPerPx * Math.cos(angle)) * sinc(frequencyPerPx * Math.sin(angle))) ** 2;
  }
  return sum / directions;
}

/** Mean over a nearly normal spread of the blur radius: three running means, each over ± the standard deviation. */
function averagedOver(
  exact: Float32Array,
  { radiiPx, count, stdPx }: { radiiPx: Float64Array; count: number; stdPx: number },
): Float32Array {
  let from = Float64Array.from(exact);
  for (let pass = 0; pass < 3; pass++) from = runningMean(from, { radiiPx, count, halfPx: stdPx });
  return Float32Array.from(from);
}

/** Mean over ± `halfPx`, of values linear between the radii, by their integral. */
function runningMean(
  from: Float64Array,
  { radiiPx, count, halfPx }: { radiiPx: Float64Array; count: number; halfPx: number },
): Float64Array<ArrayBuffer> {
  const last = radiiPx.length - 1;
  const integral = new Float64Array(from.length);
  for (let row = 1; row <= last; row++) {
    const step = (radiiPx[row]! - radiiPx[row - 1]!) / 2;
    for (let at = row * count; at < (row + 1) * count; at++) {
      integral[at] = integral[at - count]! + step * (from[at - count]! + from[at]!);
    }
  }
  const to = new Float64Array(from.length);
  const add = (row: number, radiusPx: number, sign: number): void => {
    const low = Math.max(0, Math.min(last - 1, Math.floor(rowOf(radiusPx) + last / 2)));
    const off = radiusPx - radiiPx[low]!;
    const step = radiiPx[low + 1]! - radiiPx[low]!;
    // Beyond the ends the function goes on as at the end.
    const inside = Math.max(0, Math.min(step, off));
    const beyond = off - inside;
    // The area under a line from a to b: inside of it, and beyond its end.
    const ofB = (inside * inside) / (2 * step) + (off < 0 ? 0 : beyond);
    const ofA = inside - (inside * inside) / (2 * step) + (off < 0 ? beyond : 0);
    const scale = sign / (2 * halfPx);
    for (let at = low * count, end = at + count, into = row * count; at < end; at++, into++) {
      to[into]! += scale * (integral[at]! + ofA * from[at]! + ofB * from[at + count]!);
    }
  };
  for (let row = 0; row <= last; row++) {
    add(row, radiiPx[row]! + halfPx, 1);
    add(row, radiiPx[row]! - halfPx, -1);
  }
  return to;
}
