import type { Region, RingBlurTable, RingSpectrometer, SceneLikelihood } from '../../../image/index.js';
import type { FocusTask } from '../method.js';
import { believe, type FocusBelief } from './focus-belief.js';
import { type CompleteFocusOptics, halfWidthBlurRadiusPx } from './focus-optics.js';
import { focusWorkspace } from './focus-workspace.js';
import type { BelievedFrame } from './hypothesis-fit.js';

/** What a search reckons with at one cutoff of the optics. */
export interface CutoffCandidate {
  optics: CompleteFocusOptics;
  spectrometer: RingSpectrometer;
  likelihood: SceneLikelihood;
  table: RingBlurTable;
  /** Half-width of the depth of field, as a blur radius. */
  halfWidthPx: number;
}

/** A cutoff whose logarithm of evidence lies this far below the best is given up. */
const keepWithin = 12;

export function cutoffCandidate(
  optics: CompleteFocusOptics,
  { region: { widthPx, heightPx }, mostBlurPx }: { region: Region; mostBlurPx: number },
): CutoffCandidate {
  const { cutoffPerPx } = optics;
  const workspace = focusWorkspace({ widthPx, heightPx, cutoffPerPx, mostBlurPx });
  return { optics, ...workspace, halfWidthPx: halfWidthBlurRadiusPx(cutoffPerPx) };
}

/**
 * Belief where the cutoff is not known.
 *
 * Model    believe at each cutoff, each weighed by its evidence: the density of best focus integrated over all unknowns
 * Returns  the likeliest cutoff first, and those still in question; hypotheses of all of them, most probable first.
 * Trust    on 120 simulated cases the error was 0.16 half-widths rms; with one usual cutoff 0.20, with the true one 0.15.
 * Checked  recovery: tests/procedures/autofocus/cutoff-candidates.test.ts
 */
export function believeAtCutoffs(
  candidates: readonly CutoffCandidate[],
  asked: {
    frames: readonly BelievedFrame[];
    limits: FocusTask['limits'];
    sidePx: number;
    expected: FocusTask['expected'];
  },
): { belief: FocusBelief; left: readonly CutoffCandidate[] } {
  const answers = candidates
    .map((candidate) => ({ candidate, ...believe({ ...asked, ...candidate }) }))
    .sort((a, b) => b.logEvidence - a.logEvidence);
  const best = answers[0]!;
  if (answers.length === 1) return { belief: best.belief, left: candidates };
  const kept = answers.filter(({ logEvidence }) => logEvidence > best.logEvidence - keepWithin);
  const weights = kept.map(({ logEvidence }) => Math.exp(logEvidence - best.logEvidence));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return {
    belief: kept
      .flatMap(({ belief }, i) => belief.map((h) => ({ ...h, probability: (h.probability * weights[i]!) / total })))
      .sort((a, b) => b.probability - a.probability),
    left: kept.map(({ candidate }) => candidate),
  };
}
