import { requireNumber } from '../../../base/index.js';
import { leastSpectrumSidePx, spectrumRegion } from '../../../image/index.js';
import type { FocusConfirmation, FocusProbe, FocusRefusalReason } from '../../../station/index.js';
import { classicMethod } from '../classic/classic-method.js';
import type { FocusMethod, FocusSearch, FocusStep, FocusTask, FocusView } from '../method.js';
import { choosePower, confirmsWithin } from './choose-power.js';
import { believeAtCutoffs, type CutoffCandidate, cutoffCandidate } from './cutoff-candidates.js';
import { type Detail, detailOf } from './detail.js';
import type { FocusBelief } from './focus-belief.js';
import { fitBreathing, type SeenGrowth, sizeRatio } from './focus-breathing.js';
import { estimateFocus, type FocusEstimate, posteriorOf } from './focus-estimate.js';
import { completeOptics, type FocusOptics, unknownFocusOptics } from './focus-optics.js';
import type { BelievedFrame } from './hypothesis-fit.js';
import { refuseLevels } from './judge-region.js';
import { leaningClaim } from './leaning-claim.js';
import { predictDetail, predictionError } from './predict-detail.js';
import { asDrawnBy, believedFrames, growthsToLast, type SeenFrame, seeFrame } from './seen-frame.js';
import { tryLimit } from './try-limit.js';
import { type PlanesApart, planesApart } from './two-planes.js';
import { isUnmoved } from './unmoved-lens.js';
import { widestGap } from './widest-gap.js';

/** A claim needs this probability of focus. */
const claimAt = 0.95;
/** Detail is predicted by a belief at least this sure. */
const predictAt = 0.5;
/** A frame that confirms is taken at a lens at rest, to this share of the half-width. */
const mostTravelHalfWidths = 0.35;
/** Hysteresis, in half-widths, from which on a frame that may confirm is reached from below. */
const mostPlayHalfWidths = 0.2;
/** How far from its power the lens may still be for a frame that need not confirm, in half-widths. */
const probeToleranceHalfWidths = 0.4;
const confirmToleranceHalfWidths = 0.3;
const mostFrames = 9;
/** Frames without detail after which there is none; fewer where no power is farther than this blur from a frame. */
const emptyFrames = 8;
const coveredWithinPx = 7;
/** Excess over the noise, in its standard deviations, that counts as detail. */
const leastSignificance = 12;
/** What a claim needs: less may be a pattern of the sensor. */
const claimSignificance = 22;
/** Mean grey value below which missing structure is put down to missing light. */
const darkDn = 3;
/** Largest blur radius the table holds, in px. */
const mostBlurPx = 140;
const leastTablePx = 30;
/** Probability beyond the limits above which best focus is out of range. */
const outsideAt = 0.95;
/** Mean grey values of two frames may differ by this ratio. */
const mostBrightnessRatio = 1.6;
/** Share of the predicted detail that a confirming frame must show. */
const leastOfPredicted = 0.5;
/** Detail of a claimed focus over that of some other frame; and how far away, in half-widths, one is taken to see it. */
const leastRise = 1.4;
const fallHalfWidths = 6;
/** What no frame tells: sharpest power off the model’s best focus, by aberration and colour; 1σ of blur. */
const knownSystematicPx = 0.12;
const unknownSystematicPx = 0.17;
const learnedLogStd = 0.15;

/**
 * Focus from the model of defocus: two or three frames, wherever they were taken, and one that confirms.
 *
 * Model    believe: the probability of best focus given the ring spectra of all frames so far; choosePower: the next power;
 *          found when a frame taken near the likeliest power leaves at least 95 % probability for it, shows at least half of
 *          the predicted detail, and clearly more than another frame; a sweep decides where the model cannot
 * Input    `optics`: null where nothing is known: the blur scale is then learned on the way
 * Trust    one surface, one distance; docs/procedures/model-focus.md says when to distrust it
 * Source   Subbarao & Surya 1994; Rajagopalan & Chaudhuri 1998 (both from memory); the formulas are derived in the page
 */
export function modelFocus({ optics = null }: { optics?: FocusOptics | null } = {}): FocusMethod {
  return {
    name: 'model',
    start: (task) => modelSearch(task, optics ?? unknownFocusOptics(task.limits)),
  };
}

function largestBlurPx({ optics, limits }: { optics: FocusOptics; limits: FocusTask['limits'] }): number {
  const { blurRadiusPerDptPx, blurRadiusLogStd } = optics;
  const acrossPx = blurRadiusPerDptPx * Math.exp(blurRadiusLogStd) * (limits.powerMaxDpt - limits.powerMinDpt);
  return Math.min(mostBlurPx, Math.max(leastTablePx, 1.5 * acrossPx));
}

function modelSearch(task: FocusTask, given: FocusOptics): FocusSearch {
  const optics = completeOptics(given);
  const { limits } = task;
  requireNumber('region.widthPx', task.region.widthPx, {
    min: leastSpectrumSidePx,
    unit: 'px',
  });
  requireNumber('region.heightPx', task.region.heightPx, {
    min: leastSpectrumSidePx,
    unit: 'px',
  });
  const region = spectrumRegion(task.region);
  const size = { region, mostBlurPx: largestBlurPx({ optics, limits }) };
  /** The likeliest cutoff first. */
  let candidates: readonly CutoffCandidate[] = [cutoffCandidate(optics, size)];
  /** Until two frames show detail. */
  let untriedCutoffsPerPx = optics.otherCutoffsPerPx;
  const { spectrometer } = candidates[0]!;
  const { rings } = spectrometer;
  const isUnknown = optics.blurRadiusLogStd > learnedLogStd;
  const systematicPx = isUnknown ? unknownSystematicPx : knownSystematicPx;
  const sidePx = Math.min(region.widthPx, region.heightPx);
  let seen: SeenFrame[] = [];
  const growths: SeenGrowth[] = [];
  let breathing = fitBreathing([], optics.breathing);
  const probes: FocusProbe[] = [];
  /** Detail that was predicted for each frame; null: for none. */
  const predictions: (number | null)[] = [];
  let belief: FocusBelief | null = null;
  /** The sweep that took over, if one did. */
  let instead: FocusSearch | null = null;
  let asked: { role: FocusProbe['role']; predicted: number | null } = {
    role: 'probe',
    predicted: null,
  };

  const look = (focalPowerDpt: number, role: FocusProbe['role'], predicted: number | null): FocusStep => {
    asked = { role, predicted };
    const confirms = role === 'confirm';
    const toleranceHalfWidths = confirms ? confirmToleranceHalfWidths : probeToleranceHalfWidths;
    return {
      kind: 'look',
      focalPowerDpt,
      role,
      approachFrom: (confirms && hasPlay) || !task.isResponseKnown ? 'below' : null,
      toleranceDpt: (toleranceHalfWidths * candidates[0]!.halfWidthPx) / optics.blurRadiusPerDptPx,
    };
  };
  const commandedPowers = () => seen.map(({ commandedDpt }) => commandedDpt);
  const hasPlay = task.hysteresisDpt > (mostPlayHalfWidths * candidates[0]!.halfWidthPx) / optics.blurRadiusPerDptPx;
  /** A found power is reached from below, where there is hysteresis or may be. */
  const fromBelow = hasPlay || !task.isResponseKnown;
  const refuse = (reason: FocusRefusalReason, message: string): FocusStep => ({
    kind: 'refused',
    reason,
    message,
  });

  function note(view: FocusView, { travelDpt }: SeenFrame, detail: Detail, meanDn: number): void {
    const { powersDpt } = view;
    predictions.push(asked.predicted);
    probes.push({
      role: asked.role,
      focalPowerDpt: powersDpt.length > 1 ? powersDpt[powersDpt.length >> 1]! : view.commandedDpt,
      travelDpt,
      measure: detail.measure,
      measureStd: detail.measureStd,
      meanGreyDn: meanDn,
      exposedAtMs: view.exposedAtMs,
    });
  }

  function confirmationOf(frame: number): FocusConfirmation | null {
    const predicted = predictions[frame]!;
    if (predicted === null) return null;
    const { measure: measured, measureStd } = probes[frame]!;
    return { measured, predicted, differenceStd: Math.hypot(measureStd ?? 0, predictionError * predicted) };
  }

  /** The latest frame taken at a claimed focus by a lens at rest, from the side from which it can be reached again. */
  function confirmingFrame({ focalPowerDpt, halfWidthDpt }: FocusEstimate): number | null {
    for (let k = seen.length - 1; k >= 0; k--) {
      const { commandedDpt, travelDpt, cameFrom } = seen[k]!;
      const isNear = Math.abs(commandedDpt - focalPowerDpt) <= confirmsWithin * halfWidthDpt;
      if (isNear && travelDpt <= mostTravelHalfWidths * halfWidthDpt && (!fromBelow || cameFrom === 'below')) return k;
    }
    return null;
  }

  function decide(): FocusStep {
    const frames = believedFrames(seen);
    // One frame tells the cutoffs apart hardly at all.
    if (seen.length >= 2) {
      const others = untriedCutoffsPerPx.map((cutoffPerPx) => cutoffCandidate({ ...optics, cutoffPerPx }, size));
      candidates = [...candidates, ...others];
      untriedCutoffsPerPx = [];
    }
    const believed = believeAtCutoffs(candidates, { frames, limits, sidePx, expected: task.expected });
    candidates = believed.left;
    const { likelihood, halfWidthPx } = candidates[0]!;
    const newBelief = believed.belief;
    belief = newBelief;
    const estimate = estimateFocus(newBelief, { halfWidthPx, systematicPx, optics });
    const step = judge({ frames, newBelief, estimate });
    if (step !== 'sweep' && step.kind === 'look') return step;
    const planes = planesApart({
      frames: seen,
      region,
      limits,
      optics: {
        ...candidates[0]!.optics,
        blurRadiusPerDptPx: estimate.blurRadiusPerDptPx,
        blurRadiusLogStd: 0.03,
      },
    });
    const unseen = planes === null ? undefined : otherPlane(planes, estimate);
    // A quarter may be mistaken; a frame at its own focus shows.
    if (unseen !== undefined && seen.length < mostFrames) return look(unseen, 'probe', null);
    if (planes?.isSure) {
      return refuse(
        'two-planes',
        `Parts of the region are sharp at ${planes.firstDpt.toFixed(2)} dpt, others at ${planes.secondDpt.toFixed(2)} dpt.`,
      );
    }
    if (
      isUnmoved({
        frames,
        commandedDpt: commandedPowers(),
        measures: probes.map(({ measure }) => measure),
        bestLogLikelihood: newBelief[0]!.logLikelihood,
        limits,
        likelihood,
      })
    ) {
      return refuse(
        'device',
        'The picture does not change with the focal power: the lens does not follow its commands.',
      );
    }
    return step === 'sweep' ? sweep() : step;
  }

  /** A power that a quarter claims and no frame was taken at; undefined: none. */
  function otherPlane({ firstDpt, secondDpt }: PlanesApart, { halfWidthDpt }: FocusEstimate): number | undefined {
    return [firstDpt, secondDpt]
      .map((dpt) => Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, dpt)))
      .find((dpt) => seen.every(({ commandedDpt }) => Math.abs(commandedDpt - dpt) > halfWidthDpt));
  }

  function judge({
    frames,
    newBelief,
    estimate,
  }: {
    frames: BelievedFrame[];
    newBelief: FocusBelief;
    estimate: FocusEstimate;
  }): FocusStep | 'sweep' {
    const { focalPowerDpt, halfWidthDpt, probabilityInFocus } = estimate;
    const { table, likelihood, halfWidthPx, ...at } = candidates[0]!;
    const { commandedDpt: last } = seen.at(-1)!;
    const heldInside = (dpt: number) => Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, dpt));
    const inside = heldInside(focalPowerDpt);
    const predicted = (powerDpt: number): number | null => {
      if (probabilityInFocus < predictAt) return null;
      return predictDetail({
        frames,
        estimate,
        powerDpt,
        scaleRatio: sizeRatio(breathing, { fromDpt: seen[0]!.commandedDpt, toDpt: powerDpt }),
        optics: at.optics,
        table,
        likelihood,
        rings,
        sidePx,
        meanDn: seen[0]!.spectrum.meanDn,
      });
    };
    const slackDpt = halfWidthDpt / 2;
    const outside = newBelief.reduce(
      (sum, { bestFocusDpt, probability }) =>
        bestFocusDpt < limits.powerMinDpt - slackDpt || bestFocusDpt > limits.powerMaxDpt + slackDpt
          ? sum + probability
          : sum,
      0,
    );
    if (outside > outsideAt && seen.length >= 3) return atTheLimit(estimate);
    const confirming = confirmingFrame(estimate);
    if (seen.length >= 2 && confirming !== null && probabilityInFocus >= claimAt && inside === focalPowerDpt) {
      if (task.expected === null && !hasRisen(probes[confirming]!)) {
        return seen.length < mostFrames ? look(awayFrom(estimate), 'probe', null) : 'sweep';
      }
      const beside =
        task.expected === null ? leaningClaim({ estimate, commandedDpt: commandedPowers(), limits, isUnknown }) : null;
      if (beside !== null && seen.length < mostFrames - 1) return look(beside, 'probe', null);
      const confirmation = confirmationOf(confirming);
      if (confirmation === null || confirmation.measured >= leastOfPredicted * confirmation.predicted) {
        const { focalPowerStdDpt } = estimate;
        return {
          kind: 'found',
          focalPowerDpt,
          focalPowerStdDpt,
          approachFrom: fromBelow ? 'below' : null,
          halfWidthDpt,
          probabilityInFocus,
          confirmation,
        };
      }
    }
    if (seen.length >= mostFrames) return 'sweep';
    if (probabilityInFocus >= claimAt && confirming === null) {
      return look(inside, 'confirm', predicted(inside));
    }
    const next = choosePower({
      belief: newBelief,
      frames,
      rings,
      table,
      likelihood,
      optics: at.optics,
      halfWidthPx,
      limits,
      fromDpt: last,
      moveMs: task.moveMs,
    });
    const close = Math.abs(next - focalPowerDpt) < 2 * halfWidthDpt;
    if (close) return look(next, 'confirm', predicted(next));
    const toDpt = heldInside(next < last ? next - task.hysteresisDpt : next);
    return look(toDpt, 'probe', predicted(next));
  }

  /** Whether some frame shows clearly less detail: a claimed focus must have been seen to rise. */
  function hasRisen({ measure }: Pick<FocusProbe, 'measure'>): boolean {
    return probes.some((probe) => leastRise * probe.measure < measure);
  }

  /** A power at which a focus would be seen to fall, on the side with more room. */
  function awayFrom({ focalPowerDpt, halfWidthDpt }: FocusEstimate): number {
    const { powerMinDpt, powerMaxDpt } = limits;
    const isUp = powerMaxDpt - focalPowerDpt > focalPowerDpt - powerMinDpt;
    const offDpt = fallHalfWidths * halfWidthDpt;
    return isUp ? Math.min(powerMaxDpt, focalPowerDpt + offDpt) : Math.max(powerMinDpt, focalPowerDpt - offDpt);
  }

  /** Nothing was seen: into the widest gap between the powers so far, until there is none. */
  function lookElsewhere(): FocusStep {
    const widest = widestGap(commandedPowers(), limits);
    if (seen.length >= emptyFrames || widest.gapDpt * optics.blurRadiusPerDptPx < coveredWithinPx) return nothingSeen();
    return look(widest.toDpt, 'probe', null);
  }

  function nothingSeen(): FocusStep {
    const { meanDn } = seen.at(-1)!.spectrum;
    return meanDn < darkDn
      ? refuse(
          'too-dark',
          `The region’s mean grey value is ${meanDn.toFixed(2)} DN, and no structure stands out of the noise.`,
        )
      : refuse('no-texture', 'The region shows no structure beyond the camera’s noise at any of the powers.');
  }

  /** Best focus seems to lie beyond a limit. */
  function atTheLimit(estimate: FocusEstimate): FocusStep | 'sweep' {
    const trial = tryLimit({
      estimate,
      limits,
      commandedDpt: commandedPowers(),
      measures: probes.map(({ measure }) => measure),
    });
    if (trial.kind === 'look') return seen.length < mostFrames ? look(trial.focalPowerDpt, 'probe', null) : 'sweep';
    return trial.kind === 'sharpest' ? outOfRange(estimate) : 'sweep';
  }

  function outOfRange({ focalPowerDpt, focalPowerStdDpt }: FocusEstimate): FocusStep {
    const { powerMinDpt, powerMaxDpt } = limits;
    return refuse(
      'out-of-range',
      `The region is sharpest at an end of the powers allowed here, ${powerMinDpt.toFixed(2)} … ${powerMaxDpt.toFixed(2)} dpt; best focus lies beyond, by the model at about ${focalPowerDpt.toFixed(2)} ± ${focalPowerStdDpt.toFixed(2)} dpt.`,
    );
  }

  /** The model cannot explain the frames: a sweep needs none. */
  function sweep(): FocusStep {
    instead = classicMethod('full-sweep').start({ ...task, startDpt: seen.at(-1)!.commandedDpt });
    return instead.begin();
  }

  return {
    get probes() {
      // Detail of the model and measure of the sweep are not of one scale.
      return instead === null ? probes : instead.probes;
    },
    get posterior() {
      return belief === null ? null : posteriorOf(belief, limits);
    },
    begin() {
      const wanted = task.expected?.focalPowerDpt ?? task.startDpt ?? (limits.powerMinDpt + limits.powerMaxDpt) / 2;
      return look(Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, wanted)), 'probe', null);
    },
    next(view) {
      if (instead !== null) return instead.next(view);
      const frame = seeFrame({
        view,
        region,
        hysteresisDpt: task.hysteresisDpt,
        measure: spectrometer.measure,
      });
      const { levels, commandedDpt } = frame;
      const repeated = seen.some(
        (other) => other.levels.fingerprint === levels.fingerprint && other.commandedDpt !== commandedDpt,
      );
      seen.push(frame);
      if (seen.length > 1) {
        growths.push(...growthsToLast(seen, { region, breathing }));
        breathing = fitBreathing(growths, optics.breathing);
        seen = asDrawnBy(breathing, seen, { region, measure: spectrometer.measure });
      }
      const { spectrum } = seen.at(-1)!;
      const noiseDn2 = Math.max(1 / 12, Math.min(...seen.map((other) => other.spectrum.powersDn2.at(-1)!)));
      const detail = detailOf({
        powersDn2: spectrum.powersDn2,
        noiseDn2,
        meanDn: spectrum.meanDn,
        rings,
      });
      note(view, frame, detail, spectrum.meanDn);
      const bad = refuseLevels(levels, { noiseDn2: spectrum.powersDn2.at(-1)! });
      if (bad) return refuse(bad.reason, bad.message);
      if (repeated && levels.blackShare < 1) {
        return refuse('device', 'The camera sent the same picture again for another focal power.');
      }
      const means = seen.map((other) => other.spectrum.meanDn);
      if (Math.max(...means) > mostBrightnessRatio * Math.min(...means)) {
        return refuse('unstable-scene', 'The brightness of the region changed from frame to frame.');
      }
      const significance = Math.max(
        ...seen.map(({ spectrum: s }) => detailOf({ ...s, noiseDn2, rings }).significanceRatio),
      );
      if (significance < leastSignificance) return lookElsewhere();
      const step = decide();
      return step.kind === 'found' && significance < claimSignificance ? nothingSeen() : step;
    },
  };
}
