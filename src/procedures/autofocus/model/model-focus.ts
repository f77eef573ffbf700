import { requireNumber } from '../../../base/index.js';
import { leastSpectrumSidePx, spectrumRegion } from '../../../image/index.js';
import type { FocusConfirmation, FocusProbe, FocusRefusalReason } from '../../../station/index.js';
import { classicMethod } from '../classic/classic-method.js';
import type { FocusMethod, FocusSearch, FocusStep, FocusTask, FocusView } from '../method.js';
import { choosePower, confirmsWithin } from './choose-power.js';
import { type Detail, detailOf } from './detail.js';
import { believe, type FocusBelief } from './focus-belief.js';
import { estimateFocus, type FocusEstimate, posteriorOf } from './focus-estimate.js';
import { completeOptics, type FocusOptics, halfWidthBlurRadiusPx, unknownFocusOptics } from './focus-optics.js';
import { focusWorkspace } from './focus-workspace.js';
import type { BelievedFrame } from './hypothesis-fit.js';
import { refuseLevels } from './judge-region.js';
import { predictDetail, predictionError } from './predict-detail.js';
import { believedFrames, type SeenFrame, seeFrame } from './seen-frame.js';
import { tryLimit } from './try-limit.js';
import { type PlanesApart, planesApart } from './two-planes.js';
import { isUnmoved } from './unmoved-lens.js';
import { widestGap } from './widest-gap.js';

/** A claim needs this probability of focus. */
const claimAt = 0.95;
/** A frame that confirms is taken at a lens at rest, to this share of the half-width. */
const mostTravelHalfWidths = 0.25;
/** Hysteresis, in half-widths, from which on a frame that may confirm is reached from below. */
const mostPlayHalfWidths = 0.2;
/** How far from its power the lens may still be for a frame that need not confirm, in half-widths. */
const probeToleranceHalfWidths = 0.4;
const mostFrames = 9;
/** Frames without detail after which there is none; fewer where no power is farther than this blur from a frame. */
const emptyFrames = 8;
const coveredWithinPx = 7;
/** Excess over the noise, in its standard deviations, that counts as detail. */
const leastSignificance = 12;
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
const knownSystematicPx = 0.06;
const unknownSystematicPx = 0.15;
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
  const { spectrometer, likelihood, table } = focusWorkspace({
    ...region,
    cutoffPerPx: optics.cutoffPerPx,
    mostBlurPx: largestBlurPx({ optics, limits }),
  });
  const { rings } = spectrometer;
  const halfWidthPx = halfWidthBlurRadiusPx(optics.cutoffPerPx);
  const systematicPx = optics.blurRadiusLogStd > learnedLogStd ? unknownSystematicPx : knownSystematicPx;
  const sidePx = Math.min(region.widthPx, region.heightPx);
  const seen: SeenFrame[] = [];
  const probes: FocusProbe[] = [];
  let belief: FocusBelief | null = null;
  /** The sweep that took over, if one did. */
  let instead: FocusSearch | null = null;
  let asked: { role: FocusProbe['role']; predicted: number | null } = {
    role: 'probe',
    predicted: null,
  };

  const look = (focalPowerDpt: number, role: FocusProbe['role'], predicted: number | null): FocusStep => {
    asked = { role, predicted };
    const step = {
      kind: 'look' as const,
      focalPowerDpt,
      role,
      approachFrom: null,
    };
    if (role === 'confirm') return hasPlay ? { ...step, approachFrom: 'below' } : step;
    return {
      ...step,
      toleranceDpt: (probeToleranceHalfWidths * halfWidthPx) / optics.blurRadiusPerDptPx,
    };
  };
  const commandedPowers = () => seen.map(({ commandedDpt }) => commandedDpt);
  const hasPlay = task.hysteresisDpt > (mostPlayHalfWidths * halfWidthPx) / optics.blurRadiusPerDptPx;
  const refuse = (reason: FocusRefusalReason, message: string): FocusStep => ({
    kind: 'refused',
    reason,
    message,
  });

  function note(view: FocusView, { travelDpt }: SeenFrame, detail: Detail, meanDn: number): void {
    const { powersDpt } = view;
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

  function confirmationOf(detail: Detail): FocusConfirmation | null {
    if (asked.predicted === null) return null;
    return {
      measured: detail.measure,
      predicted: asked.predicted,
      differenceStd: Math.hypot(detail.measureStd, predictionError * asked.predicted),
    };
  }

  function decide(detail: Detail): FocusStep {
    const frames = believedFrames(seen);
    const newBelief = believe({ frames, optics, limits, likelihood, table, sidePx, expected: task.expected });
    belief = newBelief;
    const estimate = estimateFocus(newBelief, { halfWidthPx, systematicPx, optics });
    const step = judge({ frames, newBelief, estimate, detail });
    if (step !== 'sweep' && step.kind === 'look') return step;
    const planes = planesApart({
      frames: seen,
      region,
      limits,
      optics: {
        ...optics,
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
    detail,
  }: {
    frames: BelievedFrame[];
    newBelief: FocusBelief;
    estimate: FocusEstimate;
    detail: Detail;
  }): FocusStep | 'sweep' {
    const { focalPowerDpt, halfWidthDpt, probabilityInFocus } = estimate;
    const { commandedDpt: last, cameFrom, travelDpt } = seen.at(-1)!;
    const heldInside = (dpt: number) => Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, dpt));
    const inside = heldInside(focalPowerDpt);
    const predicted = (powerDpt: number) =>
      predictDetail({
        frames,
        estimate,
        powerDpt,
        optics,
        table,
        likelihood,
        rings,
        sidePx,
        meanDn: seen[0]!.spectrum.meanDn,
      });
    const slackDpt = halfWidthDpt / 2;
    const outside = newBelief.reduce(
      (sum, { bestFocusDpt, probability }) =>
        bestFocusDpt < limits.powerMinDpt - slackDpt || bestFocusDpt > limits.powerMaxDpt + slackDpt
          ? sum + probability
          : sum,
      0,
    );
    if (outside > outsideAt && seen.length >= 3) return atTheLimit(estimate);
    const confirms =
      Math.abs(last - focalPowerDpt) <= confirmsWithin * halfWidthDpt &&
      travelDpt <= mostTravelHalfWidths * halfWidthDpt &&
      (!hasPlay || cameFrom === 'below');
    if (seen.length >= 2 && confirms && probabilityInFocus >= claimAt && inside === focalPowerDpt) {
      if (task.expected === null && !hasRisen(detail)) {
        return seen.length < mostFrames ? look(awayFrom(estimate), 'probe', null) : 'sweep';
      }
      const confirmation = confirmationOf(detail);
      if (confirmation === null || confirmation.measured >= leastOfPredicted * confirmation.predicted) {
        const { focalPowerStdDpt } = estimate;
        return {
          kind: 'found',
          focalPowerDpt,
          focalPowerStdDpt,
          approachFrom: hasPlay ? 'below' : null,
          halfWidthDpt,
          probabilityInFocus,
          confirmation,
        };
      }
    }
    if (seen.length >= mostFrames) return 'sweep';
    if (probabilityInFocus >= claimAt && !confirms) {
      return look(inside, 'confirm', predicted(inside));
    }
    const next = choosePower({
      belief: newBelief,
      frames,
      rings,
      table,
      likelihood,
      optics,
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
  function hasRisen({ measure }: Detail): boolean {
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
    if (seen.length >= emptyFrames || widest.gapDpt * optics.blurRadiusPerDptPx < coveredWithinPx) {
      const { meanDn } = seen.at(-1)!.spectrum;
      return meanDn < darkDn
        ? refuse(
            'too-dark',
            `The region’s mean grey value is ${meanDn.toFixed(2)} DN, and no structure stands out of the noise.`,
          )
        : refuse('no-texture', 'The region shows no structure beyond the camera’s noise at any of the powers.');
    }
    return look(widest.toDpt, 'probe', null);
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
      `The region is sharpest at the end of the lens’s ${powerMinDpt.toFixed(2)} … ${powerMaxDpt.toFixed(2)} dpt; best focus lies at about ${focalPowerDpt.toFixed(2)} ± ${focalPowerStdDpt.toFixed(2)} dpt.`,
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
        first: seen[0],
        region,
        hysteresisDpt: task.hysteresisDpt,
        measure: spectrometer.measure,
      });
      const { levels, spectrum, commandedDpt } = frame;
      const repeated = seen.some(
        (other) => other.levels.fingerprint === levels.fingerprint && other.commandedDpt !== commandedDpt,
      );
      seen.push(frame);
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
      return decide(detail);
    },
  };
}
