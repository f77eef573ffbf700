import type { FrameBlur, RingBlurTable, SceneLikelihood, SeenSpectrum } from '../../../image/index.js';
import { type LensMoves, liftDpt, possibleLiftsDpt } from '../lens-play.js';
import { detailBandPerPx } from './detail.js';
import { blurRadiusPx, type CompleteFocusOptics } from './focus-optics.js';

/** Where a lens with hysteresis may have stood during a frame. */
export interface PlayOfFrame {
  /** Powers as if it had come from below. */
  powersDpt: readonly number[];
  /** Width of the hysteresis, as far as known. */
  widthDpt: number;
  moves: LensMoves;
}

/** A frame in the belief: its power as light met it, as far as known, and its spectrum. */
export interface BelievedFrame extends SeenSpectrum {
  /** Powers of a moving lens, and those of a lens with hysteresis as it may stand. */
  focalPowersDpt: readonly number[];
  /** null: it came from below, or there is no hysteresis. */
  play: PlayOfFrame | null;
  /** How much larger it shows the scene than the first frame; its rings are those of the first. */
  scaleRatio: number;
}

/** What a frame's blur follows from. */
export interface FocusPoint {
  bestFocusDpt: number;
  /** Natural logarithm of the blur radius in px a dioptre makes. */
  logScale: number;
  sphericalWaves: number;
  asymmetryPerDpt: number;
  /** Width of the hysteresis over the known one, and the part of it by which the lens stood higher at first; null: all alike. */
  play: { widthRatio: number; part: number } | null;
}

/** Widths of a cell about a point; 0: the point alone. */
export interface CellWidths {
  bestFocusDpt: number;
  logScale: number;
  sphericalWaves: number;
}

/** How well a point explains the frames, and how much there is to believe in it. */
export interface PointFit {
  logLikelihood: number;
  /** With the priors of all unknowns, and less where it has the frames in the wrong order of sharpness. */
  logPosterior: number;
}

/** Blur that colour, astigmatism and an unsteady lens add or take, 1σ; and the relative error of the model's power. */
const blurErrorPx = 0.12;
const modelError = 0.04;
/** A cell this wide in blur is asked with this much more error of the model. */
const modelErrorPerPx = 0.15;
const mostModelError = 0.5;
/** Where the rays of most of the pupil meet moves by this part of W040. */
const focusShiftShare = 1 / 3;
/** Fall of belief for each time that a blur exceeds the table. */
const beyondTable = 20;

/** Of two frames the one with this many times more detail is nearer to best focus; frames judged alike tell nothing. */
const clearlyMore = 1.15;
const clearSigmas = 3;
/** Blur by which aberration may turn that order round, and fall of belief for each pixel beyond it. */
const orderSlackPx = 0.5;
const orderSlackRatio = 0.08;
const againstPerPx = 8;
const mostAgainst = 60;
/** Student's t of three degrees of freedom. */
const expectationWeight = 2;
const partMean = 0.5;
const partStd = 0.3;

const uniformStd = 1 / Math.sqrt(12);
/** Likelihoods go in steps of 1e-6: mirrored hypotheses are then alike, whatever the last digits of an engine’s arithmetic. */
const evenSteps = 2 ** 20;

/** Powers of a frame as a lens with hysteresis may have stood, all alike. */
export const playedPowersDpt = ({ powersDpt, widthDpt, moves }: PlayOfFrame): readonly number[] => {
  const lifts = possibleLiftsDpt(moves, { widthDpt });
  return powersDpt.flatMap((dpt) => lifts.map((lift) => dpt + lift));
};

/** Pairs of frames of which one is clearly sharper, whatever the scene. */
function sharpnessOrder(
  frames: readonly BelievedFrame[],
  frequenciesPerPx: ArrayLike<number>,
): { sharper: number; other: number }[] {
  const details = frames.map(({ powersDn2, noiseDn2, coefficientCounts }) => {
    let excess = 0;
    let variance = 0;
    for (let ring = 0; ring < powersDn2.length; ring++) {
      const frequency = frequenciesPerPx[ring]!;
      if (frequency < detailBandPerPx.lowest || frequency > detailBandPerPx.highest) continue;
      // Counted by their own coefficients, so that every ring of a scene weighs alike in all frames.
      const count = frames[0]!.coefficientCounts[ring]!;
      excess += count * (powersDn2[ring]! - noiseDn2);
      variance += (count * noiseDn2) ** 2 / Math.max(1, coefficientCounts[ring]!);
    }
    return { excess, variance };
  });
  return details.flatMap((own, sharper) =>
    details.flatMap((than, other) =>
      own.excess - clearlyMore * than.excess > clearSigmas * Math.sqrt(own.variance + than.variance)
        ? [{ sharper, other }]
        : [],
    ),
  );
}

/** Powers of a frame whose lens stands higher by its hysteresis. */
function raised(
  { powersDpt, widthDpt, moves }: PlayOfFrame,
  { widthRatio, part }: { widthRatio: number; part: number },
): readonly number[] {
  const lift = liftDpt(moves, { widthDpt: widthDpt * widthRatio, startPart: part });
  return powersDpt.map((dpt) => dpt + lift);
}

/** Blur by which best focus seems to move for each wave of W040. */
export const shiftPerWavePx = ({ cutoffPerPx }: Pick<CompleteFocusOptics, 'cutoffPerPx'>): number =>
  (4 * focusShiftShare) / cutoffPerPx;

const frameBlur = (count: number): FrameBlur => ({
  count,
  radiiPx: new Float64Array(count),
  stdsPx: new Float64Array(count),
  leakRatio: 0,
  errorRatio: 0,
});

/**
 * Asks how well points of the unknowns explain some frames.
 *
 * Model    sceneLikelihood of the blur that the optics make of each frame's distance to best focus; a cell's width makes the
 *          blur uncertain and the model less trusted. A frame of a moving lens sees the mean of the shares along its powers
 */
export function hypothesisFit({
  frames,
  optics,
  likelihood,
  table,
  sidePx,
  expected = null,
}: {
  frames: readonly BelievedFrame[];
  optics: CompleteFocusOptics;
  likelihood: SceneLikelihood;
  table: RingBlurTable;
  /** Shorter side of the region. */
  sidePx: number;
  /** Where best focus is expected, 1σ. A wrong expectation gives way: its prior has long tails. */
  expected?: { focalPowerDpt: number; focalPowerStdDpt: number } | null;
}): (point: FocusPoint, widths: CellWidths) => PointFit {
  const logLikelihoodOf = likelihood.ofBlurs(frames, table);
  const blurs = frames.map(() => frameBlur(0));
  const { blurErrorRatio, blurRadiusLogStd, sphericalStdWaves, asymmetryStdPerDpt } = optics;
  const logMiddle = Math.log(optics.blurRadiusPerDptPx);
  const shiftPx = shiftPerWavePx(optics);
  const orders = sharpnessOrder(frames, likelihood.frequenciesPerPx);
  const radiiPx = new Float64Array(frames.length);
  const sigmas = (off: number, std: number): number => (std > 0 ? off / std : 0);

  return (point, widths) => {
    const { bestFocusDpt, asymmetryPerDpt, sphericalWaves } = point;
    const scale = Math.exp(point.logScale);
    const cellPx = uniformStd * Math.sqrt((scale * widths.bestFocusDpt) ** 2 + (shiftPx * widths.sphericalWaves) ** 2);
    let farthestPx = 0;
    let error = modelError;
    for (let k = 0; k < frames.length; k++) {
      const frame = frames[k]!;
      const focalPowersDpt =
        point.play !== null && frame.play !== null ? raised(frame.play, point.play) : frame.focalPowersDpt;
      const blur = blurs[k]!;
      const count = focalPowersDpt.length;
      if (blur.radiiPx.length < count) Object.assign(blur, frameBlur(count));
      blur.count = count;
      radiiPx[k] = 0;
      for (let i = 0; i < count; i++) {
        const focalPowerDpt = focalPowersDpt[i]!;
        // In pixels of the first frame.
        const radiusPx =
          blurRadiusPx(optics, { blurRadiusPerDptPx: scale, focalPowerDpt, bestFocusDpt, asymmetryPerDpt }) /
          frame.scaleRatio;
        const ownVariance = blurErrorPx ** 2 + (blurErrorRatio * radiusPx) ** 2;
        const ownPx = Math.sqrt(ownVariance);
        const stdPx = Math.sqrt(ownVariance + cellPx * cellPx + (radiusPx * widths.logScale * uniformStd) ** 2);
        farthestPx = Math.max(farthestPx, Math.abs(radiusPx));
        error = Math.max(error, modelError + modelErrorPerPx * (stdPx - ownPx));
        radiiPx[k]! += Math.abs(radiusPx) / count;
        blur.radiiPx[i] = radiusPx;
        blur.stdsPx[i] = stdPx;
      }
      blur.leakRatio = radiiPx[k]! / sidePx;
      blur.errorRatio = optics.modelErrorPerPx * radiiPx[k]!;
    }
    const hypothesis = { frames: blurs, sphericalWaves, modelErrorRatio: Math.min(mostModelError, error) };
    const logLikelihood = Math.round(logLikelihoodOf(hypothesis) * evenSteps) / evenSteps;
    const prior =
      sigmas(point.logScale - logMiddle, blurRadiusLogStd) ** 2 +
      sigmas(sphericalWaves, sphericalStdWaves) ** 2 +
      sigmas(asymmetryPerDpt, asymmetryStdPerDpt) ** 2 +
      (point.play === null
        ? 0
        : sigmas(point.play.widthRatio - 1, optics.playRatioStd) ** 2 +
          sigmas(point.play.part - partMean, partStd) ** 2);
    // A blur beyond the table looks like the table's last: little reason to believe in it.
    const beyond = Math.max(0, farthestPx / table.maxBlurRadiusPx - 1);
    const surprise = expected === null ? 0 : sigmas(bestFocusDpt - expected.focalPowerDpt, expected.focalPowerStdDpt);
    const expectation = -expectationWeight * Math.log(1 + (surprise * surprise) / 3);
    const slackPx = orderSlackPx + 2 * cellPx;
    let wrongPx = 0;
    for (const { sharper, other } of orders) {
      wrongPx += Math.max(0, (1 - orderSlackRatio) * radiiPx[sharper]! - radiiPx[other]! - slackPx);
    }
    const against = Math.min(mostAgainst, againstPerPx * wrongPx);
    return { logLikelihood, logPosterior: logLikelihood + expectation - prior / 2 - beyondTable * beyond - against };
  };
}
