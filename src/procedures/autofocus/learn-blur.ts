import { type SpectrumRings, wavesOfBlurRadius } from '../../image/index.js';
import { defocusOtfTable } from '../../optics/index.js';
import type { LearnedBlur } from '../../station/index.js';

/** A frame as the learning sees it. */
export interface LearnedFrame {
  focalPowerDpt: number;
  powersDn2: Float64Array;
  coefficientCounts: Float64Array;
}

/** Relative error that a frame's power in a ring may have for all that the model leaves out; more for each px of blur. */
const modelError = 0.15;
const modelErrorPerPx = 0.03;
/** Blurs that tell the scale: below, the picture hardly changes; beyond, what leaks from ring to ring outweighs the ring. */
const leastBlurPx = 0.7;
const mostBlurPx = 40;
/** Signal over noise that a ring of the sharpest frame must show. */
const leastSignal = 0.5;
/** What the aberrations and the unknown cutoff leave uncertain, 1σ of the logarithm. */
const leastLogStd = 0.12;
const stepPx = 0.2;
const gridSteps = 90;
const gridSigmas = 2.6;
/** Of the found power, in steps of its standard deviation. */
const offsets = [-1.5, -0.75, 0, 0.75, 1.5];

/**
 * Learns the blur scale from the frames of a search that has found focus.
 *
 * Model    power in each ring of a defocused frame over that of the sharpest one: the ratio of the squared transfer functions of
 *          the defocused pupil at R = κ·|P − P*| and R₀; so the scene drops out, ring by ring. P* is the found power, known
 *          to its standard deviation
 * Formula  −Σ n·(c − 1 − ln c), c = measured/expected power, 1/n = 1/n_k + part²·(1/n_0 + ε²); mean and standard deviation of
 *          ln κ over a grid with the prior's
 * Returns  null where no frame is blurred enough to tell the scale. The cutoff is the prior's: it could not be told from
 *          such frames (five of them tried on 24 simulated runs: no better than chance), and scale and cutoff belong together.
 * Trust    the scale goes with the cutoff: 10 % off where the true cutoff is half of it. One run of 22 was off by a factor
 *          of 1.7, from a found power that was off itself.
 * Checked  recovery: scenes of known scale, tests/procedures/autofocus/blur-memory.test.ts
 */
export function learnBlur({
  frames,
  rings,
  found: { focalPowerDpt: bestDpt, focalPowerStdDpt: bestStdDpt },
  prior,
}: {
  frames: readonly LearnedFrame[];
  rings: SpectrumRings;
  found: { focalPowerDpt: number; focalPowerStdDpt: number };
  prior: LearnedBlur;
}): LearnedBlur | null {
  if (frames.length < 2) return null;
  const noiseDn2 = Math.max(1 / 12, Math.min(...frames.map(({ powersDn2 }) => powersDn2.at(-1)!)));
  const offOf = ({ focalPowerDpt }: LearnedFrame) => Math.abs(focalPowerDpt - bestDpt);
  const sharpest = frames.reduce((a, b) => (offOf(b) < offOf(a) ? b : a));
  const others = frames.filter((frame) => frame !== sharpest);
  const shares = shareTable(rings, prior.cutoffPerPx);

  function logLikelihood(scale: number, focusDpt: number): number {
    const own = shares(scale * Math.abs(sharpest.focalPowerDpt - focusDpt));
    let total = 0;
    for (const frame of others) {
      const blurPx = scale * Math.abs(frame.focalPowerDpt - focusDpt);
      const share = shares(blurPx);
      const error2 = (modelError + modelErrorPerPx * blurPx) ** 2;
      // The last ring is noise: it has said what the noise is.
      for (let ring = 0; ring < share.length - 1; ring++) {
        const signal = sharpest.powersDn2[ring]! - noiseDn2;
        if (signal < leastSignal * noiseDn2) continue;
        const expected = (signal * share[ring]!) / own[ring]! + noiseDn2;
        const part2 = (1 - noiseDn2 / expected) ** 2;
        const variance = 1 / frame.coefficientCounts[ring]! + part2 * (1 / sharpest.coefficientCounts[ring]! + error2);
        const ratio = Math.max(1e-9, frame.powersDn2[ring]! / expected);
        total -= (ratio - 1 - Math.log(ratio)) / variance;
      }
    }
    return total;
  }

  const middle = Math.log(prior.blurRadiusPerDptPx);
  const cells: { logScale: number; log: number }[] = [];
  for (let i = 0; i <= gridSteps; i++) {
    const sigmas = gridSigmas * ((2 * i) / gridSteps - 1);
    const logScale = middle + sigmas * prior.blurRadiusLogStd;
    for (const offset of offsets) {
      const log = logLikelihood(Math.exp(logScale), bestDpt + offset * bestStdDpt) - (sigmas ** 2 + offset ** 2) / 2;
      cells.push({ logScale, log });
    }
  }
  const top = Math.max(...cells.map(({ log }) => log));
  let [mass, first, second] = [0, 0, 0];
  for (const { logScale, log } of cells) {
    const weight = Math.exp(log - top);
    mass += weight;
    first += weight * logScale;
    second += weight * logScale ** 2;
  }
  const mean = first / mass;
  const blurRadiusPerDptPx = Math.exp(mean);
  const blurs = others.map((frame) => blurRadiusPerDptPx * offOf(frame));
  if (!blurs.some((blurPx) => blurPx >= leastBlurPx && blurPx <= mostBlurPx)) return null;
  const blurRadiusLogStd = Math.hypot(leastLogStd, Math.sqrt(Math.max(0, second / mass - mean ** 2)));
  return { cutoffPerPx: prior.cutoffPerPx, blurRadiusPerDptPx, blurRadiusLogStd };
}

/** Squared transfer of the defocused pupil, mean over each ring, by blur radius; beyond the table as at its end. */
function shareTable(rings: SpectrumRings, cutoffPerPx: number): (blurRadiusPx: number) => Float64Array {
  const samples = rings.samples.flat();
  const rows = Math.ceil(mostBlurPx / stepPx);
  const table = defocusOtfTable({
    normalisedFrequencies: samples.map(({ frequencyPerPx }) => frequencyPerPx / cutoffPerPx),
    maxDefocusWaves: wavesOfBlurRadius({ blurRadiusPx: (rows + 1) * stepPx, cutoffPerPx }),
  });
  const otf = new Float64Array(samples.length);
  const shares = Array.from({ length: rows + 1 }, (_, row) => {
    table.readAll(wavesOfBlurRadius({ blurRadiusPx: row * stepPx, cutoffPerPx }), otf);
    let i = 0;
    return Float64Array.from(rings.samples, (ring) => {
      let share = 0;
      for (const { weight } of ring) share += weight * otf[i++]! ** 2;
      return Math.max(1e-6, share);
    });
  });
  return (blurRadiusPx) => shares[Math.min(rows, Math.round(blurRadiusPx / stepPx))]!;
}
