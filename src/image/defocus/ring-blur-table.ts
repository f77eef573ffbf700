import { requirePositive } from '../../base/index.js';
import { type AberratedOtfGrid, aberratedOtfGrid } from '../../optics/index.js';
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
}

/** Spherical aberration for which the table is kept; between them linear. */
const sphericalStepWaves = 0.2;
const mostSphericalWaves = 0.4;
const levels = Math.round(mostSphericalWaves / sphericalStepWaves);
const rowsPerWave = 32;
/** Beyond the cutoff nothing passes but stray light. */
const leastShare = 1e-8;
/** Uncertainties of the blur radius for which the table is kept, 1σ. */
const blurStdsPx = [0.15, 0.3, 0.6, 1.2, 2.4, 4.8];
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

let grids: { plain: AberratedOtfGrid; spherical: AberratedOtfGrid } | null = null;
/** Made once for all optics: they are told in waves and cutoffs. */
const otfGrids = () => {
  grids ??= {
    plain: aberratedOtfGrid({ sphericalWaves: 0 }),
    spherical: aberratedOtfGrid({ sphericalWaves: mostSphericalWaves }),
  };
  return grids;
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
 * Cost     filling: some tens of milliseconds, the first one some 0.2 s more; reading: about 0.1 µs a ring.
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
  const stepPx = 4 / (rowsPerWave * cutoffPerPx);
  const side = Math.ceil(maxBlurRadiusPx / stepPx) + 2;
  const exact = exactShares({ rings, cutoffPerPx, side, stepPx });
  const smeared = exact.map(({ shares }) =>
    blurStdsPx.map((stdPx) => averagedOver(shares, { rows: 2 * side + 1, count, stdSteps: stdPx / stepPx })),
  );
  return {
    maxBlurRadiusPx,
    read({ blurRadiusPx, blurRadiusStdPx, sphericalWaves = 0 }, shares, spreads) {
      let std = 0;
      while (std < blurStdsPx.length - 1 && blurRadiusStdPx > 1.41 * blurStdsPx[std]!) std++;
      const held = Math.max(-maxBlurRadiusPx, Math.min(maxBlurRadiusPx, blurRadiusPx)) / stepPx;
      const strength = Math.min(levels, Math.abs(sphericalWaves) / sphericalStepWaves);
      const level = Math.min(levels - 1, Math.floor(strength));
      const mix = strength - level;
      // The other sign of W040 is the other side of focus.
      const place = (sphericalWaves < 0 ? -held : held) + side;
      const row = Math.floor(place);
      const part = place - row;
      const low = smeared[level]![std]!;
      const high = smeared[level + 1]![std]!;
      const at = row * count;
      for (let ring = 0; ring < count; ring++) {
        const a = (1 - part) * low[at + ring]! + part * low[at + count + ring]!;
        shares[ring] = mix === 0 ? a : a + mix * ((1 - part) * high[at + ring]! + part * high[at + count + ring]! - a);
      }
      if (spreads === undefined) return;
      const from = exact[mix < 0.5 ? level : level + 1]!.spreads;
      for (let ring = 0; ring < count; ring++) spreads[ring] = from[at + ring]!;
    },
  };
}

/** Shares and spreads for each level of W040, rows from −side to +side. */
function exactShares({
  rings,
  cutoffPerPx,
  side,
  stepPx,
}: {
  rings: SpectrumRings;
  cutoffPerPx: number;
  side: number;
  stepPx: number;
}): { shares: Float32Array; spreads: Float32Array }[] {
  const count = rings.samples.length;
  const samples = rings.samples.flat();
  const { plain, spherical } = otfGrids();
  const places = plain.place(samples.map(({ frequencyPerPx }) => frequencyPerPx / cutoffPerPx));
  const pixel = samples.map(({ frequencyPerPx }) => pixelPower(frequencyPerPx));
  const otfs = [-1, 0, 1].map(() => new Float64Array(samples.length));
  const tables: { shares: Float32Array; spreads: Float32Array }[] = [];
  for (let level = 0; level <= levels; level++) {
    const part = level / levels;
    // Parabola through W040 = −0.4, 0, 0.4 waves.
    const weights = [(part * (part - 1)) / 2, 1 - part * part, (part * (part + 1)) / 2];
    const sharpest = sharpestWaves({ weights, cutoffPerPx });
    const shares = new Float32Array((2 * side + 1) * count);
    const spreads = new Float32Array(shares.length);
    for (let row = 0; row <= 2 * side; row++) {
      const waves = wavesOfBlurRadius({ blurRadiusPx: (row - side) * stepPx, cutoffPerPx }) + sharpest;
      plain.readAll(places, waves, otfs[1]!);
      if (level > 0) {
        spherical.readAll(places, -waves, otfs[0]!);
        spherical.readAll(places, waves, otfs[2]!);
      }
      let i = 0;
      for (let ring = 0; ring < count; ring++) {
        let mean = 0;
        let square = 0;
        for (const { weight } of rings.samples[ring]!) {
          const otf =
            level === 0 ? otfs[1]![i]! : weights[0]! * otfs[0]![i]! + weights[1]! * otfs[1]![i]! + weights[2]! * otfs[2]![i]!;
          const share = otf * otf * pixel[i]!;
          mean += weight * share;
          square += weight * share * share;
          i++;
        }
        const at = row * count + ring;
        shares[at] = Math.max(leastShare, mean);
        spreads[at] = Math.max(0, square / Math.max(mean * mean, leastShare * leastShare) - 1);
      }
    }
    tables.push({ shares, spreads });
  }
  return tables;
}

/** Defocus off the balanced focus at which the contrast at 0.25 cycles per pixel is highest. */
function sharpestWaves({ weights, cutoffPerPx }: { weights: readonly number[]; cutoffPerPx: number }): number {
  const { plain, spherical } = otfGrids();
  const places = plain.place([Math.min(0.8, sharpestAtPerPx / cutoffPerPx)]);
  const value = new Float64Array(1);
  const read = (grid: AberratedOtfGrid, waves: number): number => {
    grid.readAll(places, waves, value);
    return value[0]!;
  };
  const contrast = (waves: number) =>
    weights[0]! * read(spherical, -waves) + weights[1]! * read(plain, waves) + weights[2]! * read(spherical, waves);
  let best = 0;
  for (let waves = -0.3; waves <= 0.3; waves += 0.005) if (contrast(waves) > contrast(best)) best = waves;
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

/** Mean over a nearly normal spread of the blur radius: three running means. */
function averagedOver(
  exact: Float32Array,
  { rows, count, stdSteps }: { rows: number; count: number; stdSteps: number },
): Float32Array {
  let from = Float64Array.from(exact);
  // A running mean over ± h steps, the ends counted in part, has a variance of about ((2h + 1)² − 1)/12.
  const half = (Math.sqrt(1 + 4 * stdSteps * stdSteps) - 1) / 2;
  for (let pass = 0; pass < 3; pass++) from = runningMean(from, { rows, count, half });
  return Float32Array.from(from);
}

function runningMean(from: Float64Array, { rows, count, half }: { rows: number; count: number; half: number }) {
  const to = new Float64Array(from.length);
  const whole = Math.floor(half);
  const part = half - whole;
  const at = (row: number) => Math.max(0, Math.min(rows - 1, row)) * count;
  for (let ring = 0; ring < count; ring++) {
    let sum = 0;
    for (let row = -whole; row <= whole; row++) sum += from[at(row) + ring]!;
    for (let row = 0; row < rows; row++) {
      const ends = from[at(row - whole - 1) + ring]! + from[at(row + whole + 1) + ring]!;
      to[row * count + ring] = (sum + part * ends) / (2 * half + 1);
      sum += from[at(row + whole + 1) + ring]! - from[at(row - whole) + ring]!;
    }
  }
  return to;
}
