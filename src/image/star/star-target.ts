import { requireInteger } from '../../base/index.js';
import { clippedFrame } from '../clipped-frame.js';
import { type GreyImage, maxGreyValueDn, requireGreyImage } from '../grey-image.js';
import { findStarCentre } from './star-centre.js';
import { fitRing, type RingFit } from './star-ring.js';

/** Sectors of direction, as many as ISO 12233 uses for its star. */
export const starSectorCount = 8;

/** Contrast of a star at one radius. */
export interface StarRing {
  radiusPx: number;
  frequencyPerPx: number;
  /** Michelson contrast of the fundamental, mean over the sectors. */
  contrast: number;
  contrastStd: number;
  /** Contrast relative to the star's own at frequency 0. */
  mtf: number;
  /** The same for each sector; the first lies around the direction to the right, the next ones follow clockwise. */
  sectorMtf: number[];
  /** Where the pattern of this ring lies, relative to the coarsest ring: coma moves fine detail. */
  shiftXPx: number;
  shiftYPx: number;
}

/** A star read out, or why it cannot be. */
export type StarReading =
  | {
      kind: 'measured';
      centreXPx: number;
      centreYPx: number;
      centreStdPx: number;
      cycles: number;
      /** From coarse (outside) to fine. */
      rings: StarRing[];
      /** Direction of each sector's middle, clockwise from the right. Detail there runs across that direction. */
      sectorDirectionsDeg: number[];
      mtf50PerPx: number | null;
      /** MTF50 of the sharpest and of the least sharp direction of modulation; null where one is not reached. */
      astigmatism: StarAstigmatism | null;
      /** MTF for detail that runs along (sagittal) and across (tangential) the line to the optical axis; null at the axis. */
      field: StarField | null;
      /** Largest shift between coarse and fine detail. */
      comaShiftPx: number;
    }
  | { kind: 'refused'; reason: StarRefusalReason; message: string; remedy: string };

export type StarRefusalReason = 'no-star' | 'wrong-count' | 'low-contrast' | 'saturated' | 'too-small';

/** How sharpness depends on direction. */
export interface StarAstigmatism {
  /** Direction of modulation with the highest MTF50, clockwise from the right, 0 … 180. */
  sharpestDirectionDeg: number;
  sharpestMtf50PerPx: number;
  softestMtf50PerPx: number;
}

/** Sagittal and tangential resolution of a star off the axis. */
export interface StarField {
  fieldAngleDeg: number;
  tangentialMtf50PerPx: number | null;
  sagittalMtf50PerPx: number | null;
}

/** Finest pattern that is read: one cycle on this many pixels. */
const finestPerPx = 0.5;
const leastContrast = 0.05;

/**
 * Contrast of a Siemens star against frequency, in eight directions.
 *
 * Model    on each ring grey = a + b·θ + c·cos nθ + s·sin nθ, least squares in each of eight sectors; contrast = √(c² + s²)/a
 *          above the black level; frequency n/(2πr); relative to the contrast at frequency 0, a straight line through the
 *          coarsest rings' logarithms. The centre is found from the gradients, then from the phases of the rings.
 * Input    8 … 16 bit, linear; `cycles`: line pairs round the star (dark sectors); `centre` a guess, else found;
 *          `axis` the optical axis, the frame's middle by default
 * Returns  see StarReading. A bar star's fundamental is 4/π of its bars: only ratios are used, so it reads as a sine star does.
 * Throws   RangeError for a count that is no whole number from 8 to 400, or a centre outside the frame.
 * Trust    refuses a count of cycles that the picture contradicts; near the centre noise adds contrast (bias removed).
 * Source   harmonic fit of s-SFR, ISO 12233:2014 annex E (from memory); no text of the standard was at hand
 * Checked  reference: stars of known MTF rendered by scipy, tests/image/star/star-target.test.ts
 */
export function measureStar({
  image,
  cycles,
  centre,
  axis,
  blackLevelDn = 0,
}: {
  image: GreyImage;
  cycles: number;
  centre?: { xPx: number; yPx: number } | undefined;
  axis?: { xPx: number; yPx: number } | undefined;
  blackLevelDn?: number;
}): StarReading {
  requireGreyImage('image', image);
  requireInteger('cycles', cycles, { min: 8, max: 400 });
  const found = findStarCentre({ image, cycles, guess: centre });
  if (found.kind === 'refused') return { ...found, ...(found.reason === 'no-star' && clippedFrame(image)) };
  const { xPx, yPx, radiusPx } = found;
  const innerPx = cycles / (2 * Math.PI * finestPerPx);
  if (radiusPx < 2 * innerPx || radiusPx - innerPx < 12) {
    return refused(
      'too-small',
      `The star reaches to ${radiusPx.toFixed(0)} px from its centre; with ${cycles} cycles it needs at least ${(2 * innerPx).toFixed(0)} px.`,
      'Bring the star nearer, or use one with fewer cycles.',
    );
  }
  const full = maxGreyValueDn(image);
  const fits: RingFit[] = [];
  for (let frequency = cycles / (2 * Math.PI * radiusPx); frequency < finestPerPx; frequency *= 1.06) {
    const ringPx = cycles / (2 * Math.PI * frequency);
    fits.push(
      fitRing({
        image,
        centre: { xPx, yPx },
        radiusPx: ringPx,
        cycles,
        blackLevelDn,
        sectorCount: starSectorCount,
        full,
      }),
    );
  }
  const saturated = fits.reduce((most, { saturatedFraction }) => Math.max(most, saturatedFraction), 0);
  if (saturated > 0.02)
    return refused(
      'saturated',
      `${(100 * saturated).toFixed(0)} % of a ring is saturated.`,
      'Reduce the exposure and take the frame again.',
    );
  const coarse = fits.slice(0, Math.max(4, Math.round(fits.length / 5)));
  const contrastMean = coarse.reduce((sum, { contrast }) => sum + contrast, 0) / coarse.length;
  if (contrastMean < leastContrast)
    return refused(
      'low-contrast',
      `The coarsest rings have a contrast of ${contrastMean.toFixed(3)} only.`,
      'Improve the light, focus nearer, or check the number of cycles.',
    );
  const reference = contrastAtZero(coarse);
  const first = fits[0]!;
  const rings = fits.map(
    (fit): StarRing => ({
      radiusPx: fit.radiusPx,
      frequencyPerPx: fit.frequencyPerPx,
      contrast: fit.contrast,
      contrastStd: fit.contrastStd,
      mtf: fit.contrast / reference,
      sectorMtf: fit.sectors.map(({ contrast }) => contrast / reference),
      shiftXPx: fit.shiftXPx - first.shiftXPx,
      shiftYPx: fit.shiftYPx - first.shiftYPx,
    }),
  );
  const sectorDirectionsDeg = Array.from({ length: starSectorCount }, (_, k) => (360 * k) / starSectorCount);
  const sure = rings.filter(({ mtf }) => mtf > 0.3);
  return {
    kind: 'measured',
    centreXPx: xPx,
    centreYPx: yPx,
    centreStdPx: found.stdPx,
    cycles,
    rings,
    sectorDirectionsDeg,
    mtf50PerPx: frequencyAtHalf(rings, (ring) => ring.mtf),
    astigmatism: astigmatismOf(rings),
    field: fieldOf(rings, { xPx, yPx }, axis ?? { xPx: (image.widthPx - 1) / 2, yPx: (image.heightPx - 1) / 2 }, image),
    comaShiftPx: sure.reduce((most, ring) => Math.max(most, Math.hypot(ring.shiftXPx, ring.shiftYPx)), 0),
  };
}

/** Contrast at frequency 0: a straight line through ln(contrast) against frequency². */
function contrastAtZero(coarse: readonly RingFit[]): number {
  const x = coarse.map(({ frequencyPerPx }) => frequencyPerPx ** 2);
  const y = coarse.map(({ contrast }) => Math.log(Math.max(contrast, 1e-6)));
  const [mx, my] = [mean(x), mean(y)];
  const slope =
    x.reduce((sum, v, i) => sum + (v - mx) * (y[i]! - my), 0) / x.reduce((sum, v) => sum + (v - mx) ** 2, 0);
  return Math.exp(my - Math.min(0, slope) * mx);
}

const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

/** First frequency at which a curve falls to a half, straight between rings; null if it does not. */
function frequencyAtHalf(rings: readonly StarRing[], of: (ring: StarRing) => number): number | null {
  const at = rings.findIndex((ring) => of(ring) < 0.5);
  if (at <= 0) return null;
  const [before, after] = [rings[at - 1]!, rings[at]!];
  const share = (of(before) - 0.5) / (of(before) - of(after));
  return before.frequencyPerPx + share * (after.frequencyPerPx - before.frequencyPerPx);
}

/** MTF50 by direction of modulation: that of a sector runs at right angles to it; opposite sectors share one. */
function astigmatismOf(rings: readonly StarRing[]): StarAstigmatism | null {
  const pairs = starSectorCount / 2;
  const halves = Array.from({ length: pairs }, (_, k) =>
    frequencyAtHalf(rings, ({ sectorMtf }) => (sectorMtf[k]! + sectorMtf[k + pairs]!) / 2),
  );
  if (halves.includes(null)) return null;
  const values = halves as number[];
  const [best, worst] = [Math.max(...values), Math.min(...values)];
  return {
    sharpestDirectionDeg: ((360 / starSectorCount) * values.indexOf(best) + 90) % 180,
    sharpestMtf50PerPx: best,
    softestMtf50PerPx: worst,
  };
}

/** Sectors along the line to the axis are modulated across it: sagittal. */
function fieldOf(
  rings: readonly StarRing[],
  centre: { xPx: number; yPx: number },
  axis: { xPx: number; yPx: number },
  image: GreyImage,
): StarField | null {
  const [dx, dy] = [centre.xPx - axis.xPx, centre.yPx - axis.yPx];
  if (Math.hypot(dx, dy) < 0.05 * Math.hypot(image.widthPx, image.heightPx)) return null;
  const fieldAngleDeg = ((Math.atan2(dy, dx) * 180) / Math.PI + 360) % 360;
  const along = Math.round((fieldAngleDeg * starSectorCount) / 360) % starSectorCount;
  const pair = (k: number) => (ring: StarRing) =>
    (ring.sectorMtf[k % starSectorCount]! + ring.sectorMtf[(k + starSectorCount / 2) % starSectorCount]!) / 2;
  return {
    fieldAngleDeg,
    sagittalMtf50PerPx: frequencyAtHalf(rings, pair(along)),
    tangentialMtf50PerPx: frequencyAtHalf(rings, pair(along + starSectorCount / 4)),
  };
}

export const refused = (
  reason: StarRefusalReason,
  message: string,
  remedy: string,
): Extract<StarReading, { kind: 'refused' }> => ({ kind: 'refused', reason, message, remedy });
