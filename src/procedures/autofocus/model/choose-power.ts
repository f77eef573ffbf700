import { expectedBlur, type RingBlurTable, type SceneLikelihood, type SpectrumRings } from '../../../image/index.js';
import type { FocusBelief } from './focus-belief.js';
import { blurRadiusPx, type CompleteFocusOptics } from './focus-optics.js';
import type { BelievedFrame } from './hypothesis-fit.js';

/** A possible focus that stands for the hypotheses about it, and the scene it needs. */
interface Rival {
  dpt: number;
  scale: number;
  spherical: number;
  asymmetry: number;
  probability: number;
  powersDn2: Float64Array;
  /** Variance of their logarithms: what no frame has shown yet is hardly known. */
  logVariances: Float64Array;
}

const mostRivals = 10;
const evenPowers = 9;
/** Offsets of trial powers from the likeliest focuses, in half-widths of the depth of field. */
const offsetsInHalfWidths = [0, -2, 2, -5, 5];
/** Blur uncertain by this, 1σ, and the model by this relative error, when two rivals are told apart. */
const blurErrorPx = 0.3;
const modelError = 0.2;
/** A frame this close to best focus, in half-widths, can confirm it. */
export const confirmsWithin = 0.45;
/** Focuses this close together, in half-widths, are one. */
const sameWithin = 0.4;
/** Weight of a move's time against one more frame. */
const moveShare = 0.15;

/**
 * The power to look at next: where the fewest further frames are to be expected.
 *
 * Model    a frame tells two rivals apart by the difference D of what they predict for it, ring by ring; a rival that the
 *          frame singles out needs one more frame, none if the frame already shows it in focus, and two or more otherwise
 * Formula  expected further frames = Σ_h π_h·[2 − p_h·(1 or 2)], p_h = π_h / Σ_j π_j·e^(−D_hj),
 *          D = Σ (ln v_h − ln v_j)² / 4(1/n + modelError² + variance of the ring's scene)
 * Returns  a power inside the limits (one of the list, where there is one).
 */
export function choosePower({
  belief,
  frames,
  rings,
  table,
  likelihood,
  optics,
  halfWidthPx,
  limits,
  fromDpt,
  moveMs,
}: {
  belief: FocusBelief;
  frames: readonly BelievedFrame[];
  rings: SpectrumRings;
  table: RingBlurTable;
  likelihood: SceneLikelihood;
  optics: CompleteFocusOptics;
  halfWidthPx: number;
  limits: { powerMinDpt: number; powerMaxDpt: number; powersDpt: readonly number[] | null };
  fromDpt: number;
  moveMs: (move: { fromDpt: number | null; toDpt: number }) => number;
}): number {
  const rivals = rivalsOf({ belief, halfWidthPx });
  for (const rival of rivals) Object.assign(rival, sceneOf({ rival, frames, table, likelihood, optics, rings }));
  const noiseDn2 = frames[0]!.noiseDn2;
  const isNew = (powerDpt: number) =>
    frames.every(({ focalPowersDpt }) =>
      focalPowersDpt.every((dpt) => Math.abs(dpt - powerDpt) * rivals[0]!.scale > sameWithin * halfWidthPx),
    );
  const all = trialPowers({ rivals, halfWidthPx, limits });
  // Where a frame was taken the model errs in the same way again.
  const fresh = all.filter(isNew);
  const trials = fresh.length > 0 ? fresh : all;
  const longestMs = Math.max(1, ...trials.map((toDpt) => moveMs({ fromDpt, toDpt })));
  let best = trials[0]!;
  let least = Number.POSITIVE_INFINITY;
  for (const powerDpt of trials) {
    const logs = rivals.map((rival) => predicted({ rival, powerDpt, table, noiseDn2, optics }));
    let cost = (moveShare * moveMs({ fromDpt, toDpt: powerDpt })) / longestMs;
    rivals.forEach((own, h) => {
      let alike = 0;
      rivals.forEach((other, j) => {
        const apart = h === j ? 0 : distance({ logs: logs[h]!, otherLogs: logs[j]!, rival: own, noiseDn2, rings });
        alike += other.probability * Math.exp(-apart);
      });
      const singledOut = own.probability / Math.max(alike, 1e-12);
      const shows = Math.abs(powerDpt - own.dpt) < (confirmsWithin * halfWidthPx) / own.scale;
      cost += own.probability * (2 - singledOut * (shows ? 2 : 1));
    });
    if (cost < least) {
      least = cost;
      best = powerDpt;
    }
  }
  return best;
}

function rivalsOf({ belief, halfWidthPx }: { belief: FocusBelief; halfWidthPx: number }): Rival[] {
  const rivals: Rival[] = [];
  for (const { bestFocusDpt, blurRadiusPerDptPx, sphericalWaves, asymmetryPerDpt, probability } of belief) {
    const same = rivals.find(({ dpt, scale }) => Math.abs(dpt - bestFocusDpt) * scale < sameWithin * halfWidthPx);
    if (same) same.probability += probability;
    else if (rivals.length < mostRivals)
      rivals.push({
        dpt: bestFocusDpt,
        scale: blurRadiusPerDptPx,
        spherical: sphericalWaves,
        asymmetry: asymmetryPerDpt,
        probability,
        powersDn2: new Float64Array(0),
        logVariances: new Float64Array(0),
      });
  }
  const total = rivals.reduce((sum, rival) => sum + rival.probability, 0);
  for (const rival of rivals) rival.probability /= total;
  return rivals;
}

function sceneOf({
  rival,
  frames,
  table,
  likelihood,
  optics,
  rings,
}: {
  rival: Rival;
  frames: readonly BelievedFrame[];
  table: RingBlurTable;
  likelihood: SceneLikelihood;
  optics: CompleteFocusOptics;
  rings: SpectrumRings;
}): Pick<Rival, 'powersDn2' | 'logVariances'> {
  const blurs = frames.map(({ focalPowersDpt, powersDn2, scaleRatio }) => {
    const blur = expectedBlur(powersDn2.length);
    const asked = blurOf({ rival, powerDpt: focalPowersDpt[focalPowersDpt.length >> 1]!, optics });
    asked.blurRadiusPx /= scaleRatio;
    table.read(asked, blur.shares, blur.spreads);
    blur.leakRatio = Math.abs(asked.blurRadiusPx) / Math.min(rings.widthPx, rings.heightPx);
    return blur;
  });
  const { logPowers, logVariances } = likelihood.fit(frames, blurs, modelError);
  return { powersDn2: logPowers.map(Math.exp), logVariances: logVariances.slice() };
}

const blurOf = ({ rival, powerDpt, optics }: { rival: Rival; powerDpt: number; optics: CompleteFocusOptics }) => ({
  blurRadiusPx: blurRadiusPx(optics, {
    blurRadiusPerDptPx: rival.scale,
    focalPowerDpt: powerDpt,
    bestFocusDpt: rival.dpt,
    asymmetryPerDpt: rival.asymmetry,
  }),
  blurRadiusStdPx: blurErrorPx,
  sphericalWaves: rival.spherical,
});

/** Logarithm of the power that a rival predicts in each ring of a frame. */
function predicted({
  rival,
  powerDpt,
  table,
  noiseDn2,
  optics,
}: {
  rival: Rival;
  powerDpt: number;
  table: RingBlurTable;
  noiseDn2: number;
  optics: CompleteFocusOptics;
}): Float64Array {
  const logs = new Float64Array(rival.powersDn2.length);
  table.read(blurOf({ rival, powerDpt, optics }), logs);
  for (let ring = 0; ring < logs.length; ring++) logs[ring] = Math.log(noiseDn2 + rival.powersDn2[ring]! * logs[ring]!);
  return logs;
}

/** How clearly a frame would tell two rivals apart, by what each predicts and how sure its scene is of it. */
function distance({
  logs,
  otherLogs,
  rival,
  noiseDn2,
  rings,
}: {
  logs: Float64Array;
  otherLogs: Float64Array;
  rival: Rival;
  noiseDn2: number;
  rings: SpectrumRings;
}): number {
  let sum = 0;
  for (let ring = 0; ring < logs.length; ring++) {
    const signalShare = 1 - noiseDn2 / Math.exp(logs[ring]!);
    const unsure = signalShare ** 2 * (modelError ** 2 + rival.logVariances[ring]!);
    sum += (logs[ring]! - otherLogs[ring]!) ** 2 / (4 * (1 / rings.coefficientCounts[ring]! + unsure));
  }
  return sum;
}

function trialPowers({
  rivals,
  halfWidthPx,
  limits: { powerMinDpt, powerMaxDpt, powersDpt },
}: {
  rivals: readonly Rival[];
  halfWidthPx: number;
  limits: { powerMinDpt: number; powerMaxDpt: number; powersDpt: readonly number[] | null };
}): number[] {
  if (powersDpt !== null && powersDpt.length <= 64) return [...powersDpt];
  const wanted = rivals
    .slice(0, 8)
    .flatMap(({ dpt, scale }) => offsetsInHalfWidths.map((offset) => dpt + (offset * halfWidthPx) / scale));
  for (let i = 0; i < evenPowers; i++) wanted.push(powerMinDpt + (i * (powerMaxDpt - powerMinDpt)) / (evenPowers - 1));
  const inside = wanted.map((dpt) => Math.min(powerMaxDpt, Math.max(powerMinDpt, dpt)));
  if (powersDpt === null) return [...new Set(inside)];
  const nearest = (dpt: number) => powersDpt.reduce((a, b) => (Math.abs(b - dpt) < Math.abs(a - dpt) ? b : a));
  return [...new Set(inside.map(nearest))];
}
