import { ringSpectrometerFast, spectrumRegion } from '../../image/index.js';
import type { FocusRefusalReason, KeptBlur, LearnedBlur } from '../../station/index.js';
import { type LearnedFrame, learnBlur } from './learn-blur.js';
import type { FocusMethod, FocusSearch, FocusStep, FocusTask, FocusView } from './method.js';
import { type FocusOptics, unknownFocusOptics } from './model/focus-optics.js';
import { modelFocus } from './model/model-focus.js';

/** What is kept is never believed to be better known than this, 1σ of the logarithm: an aperture may have been turned since. */
const leastKeptLogStd = 0.1;
/** A run contradicts what is kept when it is off by more than so many standard deviations. */
const contradictingSigmas = 3;
/** Refusals that a wrong blur scale can cause. */
const doubtfulReasons: readonly FocusRefusalReason[] = ['out-of-range', 'unstable-scene'];

/** The blur scale of one camera, from search to search. */
export interface BlurMemory {
  /** null: nothing is known. */
  readonly kept: KeptBlur | null;
  /** A run has contradicted what was kept. */
  readonly isForgotten: boolean;
}

/**
 * What is kept after one more run.
 *
 * Model    mean of the logarithms, weighted by their precision, never better known than 10 %; a run that is off by three standard
 *          deviations takes the place of what was kept
 */
export function keepBlur(kept: KeptBlur | null, learned: LearnedBlur): { kept: KeptBlur; isContradicted: boolean } {
  if (kept === null) return { kept: { ...learned, runCount: 1 }, isContradicted: false };
  const off = Math.log(learned.blurRadiusPerDptPx / kept.blurRadiusPerDptPx);
  const isContradicted =
    learned.cutoffPerPx !== kept.cutoffPerPx ||
    Math.abs(off) > contradictingSigmas * Math.hypot(kept.blurRadiusLogStd, learned.blurRadiusLogStd);
  if (isContradicted) return { kept: { ...learned, runCount: 1 }, isContradicted };
  const share = kept.blurRadiusLogStd ** 2 / (kept.blurRadiusLogStd ** 2 + learned.blurRadiusLogStd ** 2);
  const combined = kept.blurRadiusLogStd * Math.sqrt(1 - share);
  return {
    isContradicted,
    kept: {
      cutoffPerPx: kept.cutoffPerPx,
      blurRadiusPerDptPx: kept.blurRadiusPerDptPx * Math.exp(share * off),
      blurRadiusLogStd: Math.max(leastKeptLogStd, combined),
      runCount: kept.runCount + 1,
    },
  };
}

/**
 * Focus from the model on a camera whose optics nobody knows, better from run to run.
 *
 * Model    modelFocus with the blur scale that is kept, or with none; every search that finds focus teaches it anew (learnBlur,
 *          keepBlur). After a refusal that a wrong scale can cause the search begins anew, once, without it
 * Returns  the method, and the memory to keep for next time.
 * Checked  recovery and property: tests/procedures/autofocus/blur-memory.test.ts
 */
export function rememberingFocus(before: KeptBlur | null): { method: FocusMethod; memory: BlurMemory } {
  const memory = { kept: before, isForgotten: false };
  return {
    memory,
    method: {
      name: 'model',
      start(task) {
        const prior = memory.kept;
        const learn = (learned: LearnedBlur) => {
          const { kept, isContradicted } = keepBlur(memory.kept, learned);
          memory.kept = kept;
          memory.isForgotten ||= isContradicted;
        };
        const search = learningSearch(task, prior, learn);
        return prior === null ? search : orAnew(search, () => learningSearch(task, null, learn));
      },
    },
  };
}

/** A search that begins anew, once, after a refusal that a wrong blur scale can cause. */
export function orAnew(first: FocusSearch, begin: () => FocusSearch): FocusSearch {
  let under = first;
  const followed = (step: FocusStep): FocusStep => {
    if (under !== first || step.kind !== 'refused' || !doubtfulReasons.includes(step.reason)) return step;
    under = begin();
    return under.begin();
  };
  return {
    begin: () => followed(first.begin()),
    next: (view) => followed(under.next(view)),
    get probes() {
      return under === first ? first.probes : [...first.probes, ...under.probes];
    },
    get posterior() {
      return under.posterior;
    },
    get learnedBlur() {
      return under.learnedBlur ?? null;
    },
  };
}

function learningSearch(
  task: FocusTask,
  kept: KeptBlur | null,
  onLearned: (learned: LearnedBlur) => void,
): FocusSearch {
  const unknown = unknownFocusOptics(task.limits);
  const optics: FocusOptics = kept
    ? {
        ...unknown,
        cutoffPerPx: kept.cutoffPerPx,
        blurRadiusPerDptPx: kept.blurRadiusPerDptPx,
        blurRadiusLogStd: Math.max(leastKeptLogStd, kept.blurRadiusLogStd),
      }
    : unknown;
  const search = modelFocus({ optics }).start(task);
  const region = spectrumRegion(task.region);
  const spectrometer = ringSpectrometerFast(region);
  const frames: LearnedFrame[] = [];
  let learned: LearnedBlur | null = null;

  function take({ image, powersDpt }: FocusView): void {
    const { powersDn2, coefficientCounts } = spectrometer.measure(image, region);
    frames.push({ focalPowerDpt: powersDpt[powersDpt.length >> 1]!, powersDn2, coefficientCounts });
  }
  return {
    begin: () => search.begin(),
    next(view) {
      take(view);
      const step = search.next(view);
      if (step.kind === 'found') {
        // Each run is judged by itself: what is kept must not confirm itself.
        learned = learnBlur({ frames, rings: spectrometer.rings, found: step, prior: unknown });
        if (learned) onLearned(learned);
      }
      return step;
    },
    get probes() {
      return search.probes;
    },
    get posterior() {
      return search.posterior;
    },
    get learnedBlur() {
      return learned;
    },
  };
}
