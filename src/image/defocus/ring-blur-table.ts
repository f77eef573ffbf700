import { requirePositive } from '../../base/index.js';
import { defocusOtfTable } from '../../optics/index.js';
import type { SpectrumRings } from './spectrum-rings.js';

/** What defocus leaves of the power in each ring. */
export interface RingBlurTable {
  readonly maxBlurRadiusPx: number;
  /** Share of the power in each ring into `shares`, for a blur radius known to a standard deviation; either side of focus alike. */
  read(blur: { blurRadiusPx: number; blurRadiusStdPx: number }, shares: Float64Array): void;
}

const stepPx = 0.125;
/** Beyond the cutoff nothing passes but stray light. */
const leastShare = 1e-8;
/** Uncertainties of the blur radius for which the table is kept, 1σ. */
const blurStdsPx = [0.15, 0.3, 0.6, 1.2, 2.4, 4.8];

/** Defocus in waves at the pupil's edge that spreads a point over a disc of this radius: R = 4·W20/cutoff. */
export const wavesOfBlurRadius = ({
  blurRadiusPx,
  cutoffPerPx,
}: {
  blurRadiusPx: number;
  cutoffPerPx: number;
}): number => (blurRadiusPx * cutoffPerPx) / 4;

/**
 * Table of the defocused pupil's mean squared transfer in rings of a spectrum, over the blur radius.
 *
 * Model    Hopkins's exact transfer function at the frequencies a ring's power comes from, pixel aperture; averaged over the
 *          uncertainty of the blur radius
 * Formula  ⟨(OTF(f/cutoff, R·cutoff/4) · sinc f_x · sinc f_y)²⟩ over ring, direction and R ± std
 * Returns  reads blur radii beyond the limit as the limit; linear between steps of 1/8 px.
 * Throws   RangeError if cutoff or limit is not > 0.
 * Cost     filling: some ten milliseconds; reading: under 0.1 µs a ring.
 * Trust    one wavelength, no aberration: give what they change as uncertainty of the blur radius.
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
  const rows = Math.ceil(maxBlurRadiusPx / stepPx) + 2;
  const exact = exactShares({ rings, cutoffPerPx, rows });
  const tables = blurStdsPx.map((stdPx) => averagedOver(exact, { rows, count, stdPx }));
  return {
    maxBlurRadiusPx,
    read({ blurRadiusPx, blurRadiusStdPx }, shares) {
      let level = 0;
      while (level < blurStdsPx.length - 1 && blurRadiusStdPx > 1.41 * blurStdsPx[level]!) level++;
      const table = tables[level]!;
      const place = Math.min(Math.abs(blurRadiusPx), maxBlurRadiusPx) / stepPx;
      const row = Math.floor(place);
      const part = place - row;
      const at = row * count;
      for (let ring = 0; ring < count; ring++) {
        shares[ring] = (1 - part) * table[at + ring]! + part * table[at + count + ring]!;
      }
    },
  };
}

function exactShares({ rings, cutoffPerPx, rows }: { rings: SpectrumRings; cutoffPerPx: number; rows: number }) {
  const samples = rings.samples.flat();
  const pixel = samples.map(({ frequencyPerPx }) => pixelPower(frequencyPerPx));
  const table = defocusOtfTable({
    normalisedFrequencies: samples.map(({ frequencyPerPx }) => frequencyPerPx / cutoffPerPx),
    maxDefocusWaves: wavesOfBlurRadius({ blurRadiusPx: rows * stepPx, cutoffPerPx }),
  });
  const otf = new Float64Array(samples.length);
  const exact = new Float64Array(rows * rings.samples.length);
  for (let row = 0; row < rows; row++) {
    table.readAll(wavesOfBlurRadius({ blurRadiusPx: row * stepPx, cutoffPerPx }), otf);
    let i = 0;
    rings.samples.forEach((ring, column) => {
      let share = 0;
      for (const { weight } of ring) {
        share += weight * otf[i]! ** 2 * pixel[i]!;
        i++;
      }
      exact[row * rings.samples.length + column] = Math.max(leastShare, share);
    });
  }
  return exact;
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

/** Mean over a normal spread of the blur radius; negative radii are the other side of focus. */
function averagedOver(
  exact: Float64Array,
  { rows, count, stdPx }: { rows: number; count: number; stdPx: number },
): Float64Array {
  const reach = Math.ceil((3 * stdPx) / stepPx);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-0.5 * (((i - reach) * stepPx) / stdPx) ** 2),
  );
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const averaged = new Float64Array(exact.length);
  for (let row = 0; row < rows; row++) {
    weights.forEach((weight, i) => {
      const from = Math.min(rows - 1, Math.abs(row + i - reach)) * count;
      for (let ring = 0; ring < count; ring++) averaged[row * count + ring]! += (weight / total) * exact[from + ring]!;
    });
  }
  return averaged;
}
