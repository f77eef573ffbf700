import type { ExpectedBlur, RingBlurTable, SceneLikelihood, SeenSpectrum } from '../../../image/index.js';
import { blurRadiusPx, type FocusOptics } from './focus-optics.js';

/** A frame in the belief: its power as light met it, as far as known, and its spectrum. */
export interface BelievedFrame extends SeenSpectrum {
  focalPowersDpt: readonly number[];
}

/** One cell of the hypotheses: best focus, blur scale and spherical aberration about these. */
export interface FocusHypothesis {
  bestFocusDpt: number;
  blurRadiusPerDptPx: number;
  sphericalWaves: number;
  probability: number;
  /** Width of the cell in best focus. */
  cellDpt: number;
  logLikelihood: number;
}

/** What is believed after some frames: hypotheses with their probabilities, most probable first. */
export type FocusBelief = readonly FocusHypothesis[];

interface Cell {
  dpt: number;
  logScale: number;
  spherical: number;
  widthDpt: number;
  widthLog: number;
  widthSpherical: number;
  logLikelihood: number;
  logPosterior: number;
}

/** Blur that colour, astigmatism and an unsteady lens add or take, 1σ; and the relative error of the model's power. */
const blurErrorPx = 0.12;
const modelError = 0.04;
/** A cell this wide in blur is asked with this much more error of the model. */
const modelErrorPerPx = 0.15;
const mostModelError = 0.5;

const coarsePx = 3;
const finestPx = 0.09;
const coarseLog = 0.25;
const scaleSigmas = 2.6;
const rounds = 14;
/** Cells below the best by more than this are given up, sooner while cells are large. */
const keepWithin = [80, 70, 60, 50, 40, 35, 30, 25, 20, 17, 14];
const mostSplit = 40;
/** Where this many cells share the probability, finer ones would say no more. */
const spreadOver = 60;
/** Best focus is looked for this far outside the limits, so that one out of range is told apart. */
const outsideShare = 0.25;
const outsidePx = 50;
/** Spherical aberration is looked for this far off none. */
const sphericalReachWaves = 0.4;
/** Where the rays of most of the pupil meet moves by this part of W040. */
const focusShiftShare = 1 / 3;

/** Fall of belief for each time that a blur exceeds the table. */
const beyondTable = 20;

const uniformStd = 1 / Math.sqrt(12);

/**
 * Probability of best focus, blur scale and spherical aberration, given the frames.
 *
 * Model    sceneLikelihood over a grid of best focus (even prior, a quarter of the range beyond either limit), blur scale
 *          (log-normal prior) and W040 (normal prior), from coarse to fine: large cells are asked with the blur uncertain by
 *          their size, the best are split along their longest side. A frame of a moving lens sees the mean of the shares along
 *          its powers
 * Returns  cells with their probabilities, which sum to 1; the most probable first.
 */
export function believe({
  frames,
  optics,
  limits,
  likelihood,
  table,
  sidePx,
}: {
  frames: readonly BelievedFrame[];
  optics: FocusOptics;
  limits: { powerMinDpt: number; powerMaxDpt: number };
  likelihood: SceneLikelihood;
  table: RingBlurTable;
  /** Shorter side of the region. */
  sidePx: number;
}): FocusBelief {
  const rings = frames[0]!.powersDn2.length;
  const blurs = frames.map((): ExpectedBlur => expectedBlur(rings));
  const part = expectedBlur(rings);
  const logMiddle = Math.log(optics.blurRadiusPerDptPx);
  const logStd = optics.blurRadiusLogStd;
  const shiftPx = (4 * focusShiftShare) / optics.cutoffPerPx;

  function ask(cell: Cell): void {
    const scale = Math.exp(cell.logScale);
    const cellPx = Math.hypot(scale * cell.widthDpt, shiftPx * cell.widthSpherical) * uniformStd;
    let farthestPx = 0;
    let error = modelError;
    frames.forEach(({ focalPowersDpt }, k) => {
      const blur = blurs[k]!;
      blur.leakRatio = 0;
      if (focalPowersDpt.length > 1) {
        blur.shares.fill(0);
        blur.spreads.fill(0);
      }
      for (const focalPowerDpt of focalPowersDpt) {
        const radiusPx = blurRadiusPx(optics, { blurRadiusPerDptPx: scale, focalPowerDpt, bestFocusDpt: cell.dpt });
        const blurRadiusStdPx = Math.hypot(
          blurErrorPx,
          optics.blurErrorRatio * radiusPx,
          cellPx,
          radiusPx * cell.widthLog * uniformStd,
        );
        const ownPx = Math.hypot(blurErrorPx, optics.blurErrorRatio * radiusPx);
        farthestPx = Math.max(farthestPx, Math.abs(radiusPx));
        error = Math.max(error, modelError + modelErrorPerPx * (blurRadiusStdPx - ownPx));
        const asked = { blurRadiusPx: radiusPx, blurRadiusStdPx, sphericalWaves: cell.spherical };
        blur.leakRatio += Math.abs(radiusPx) / sidePx / focalPowersDpt.length;
        if (focalPowersDpt.length === 1) table.read(asked, blur.shares, blur.spreads);
        else {
          table.read(asked, part.shares, part.spreads);
          for (let ring = 0; ring < rings; ring++) {
            blur.shares[ring]! += part.shares[ring]! / focalPowersDpt.length;
            blur.spreads[ring]! += part.spreads[ring]! / focalPowersDpt.length;
          }
        }
      }
    });
    const fit = likelihood.fit(frames, blurs, Math.min(mostModelError, error));
    const sigmas = logStd > 0 ? (cell.logScale - logMiddle) / logStd : 0;
    const sphericalSigmas = optics.sphericalStdWaves > 0 ? cell.spherical / optics.sphericalStdWaves : 0;
    cell.logLikelihood = fit.logLikelihood;
    // A blur beyond the table looks like the table's last: little reason to believe in it.
    const beyond = Math.max(0, farthestPx / table.maxBlurRadiusPx - 1);
    cell.logPosterior =
      fit.logLikelihood - (sigmas * sigmas + sphericalSigmas * sphericalSigmas) / 2 - beyondTable * beyond;
  }

  let cells = coarseCells({ optics, limits });
  for (const cell of cells) ask(cell);
  const farthestDpt = (dpt: number) =>
    frames.reduce((far, { focalPowersDpt }) => Math.max(far, ...focalPowersDpt.map((p) => Math.abs(p - dpt))), 0);
  for (let round = 0; round < rounds; round++) {
    cells.sort((a, b) => b.logPosterior - a.logPosterior);
    const best = cells[0]!.logPosterior;
    if (round > 2 && spread(cells) > spreadOver) break;
    const least = best - keepWithin[Math.min(round, keepWithin.length - 1)]!;
    const kept = cells.filter(({ logPosterior }, i) => logPosterior >= least && i < 4 * mostSplit);
    let split = 0;
    const next: Cell[] = [];
    for (const cell of kept) {
      const scale = Math.exp(cell.logScale);
      const lengths = [
        scale * cell.widthDpt,
        (cell.widthLog * scale * farthestDpt(cell.dpt)) / 3,
        shiftPx * cell.widthSpherical,
      ];
      const longest = Math.max(...lengths);
      if (longest <= finestPx || split >= mostSplit) {
        next.push(cell);
        continue;
      }
      split++;
      for (const child of halves(cell, lengths.indexOf(longest))) {
        ask(child);
        next.push(child);
      }
    }
    cells = next;
    if (split === 0) break;
  }
  return normalised(cells);
}

/** Room for what a hypothesis says of a frame. */
export const expectedBlur = (rings: number): ExpectedBlur => ({
  shares: new Float64Array(rings),
  spreads: new Float64Array(rings),
  leakRatio: 0,
});

const volume = ({ widthDpt, widthLog, widthSpherical }: Cell): number =>
  widthDpt * (widthLog > 0 ? widthLog : 1) * (widthSpherical > 0 ? widthSpherical : 1);

/** How many cells share the probability: 1/Σp². */
function spread(cells: readonly Cell[]): number {
  const best = cells[0]!.logPosterior;
  let sum = 0;
  let squares = 0;
  for (const cell of cells) {
    const mass = Math.exp(cell.logPosterior - best) * volume(cell);
    sum += mass;
    squares += mass * mass;
  }
  return (sum * sum) / squares;
}

function coarseCells({
  optics,
  limits,
}: {
  optics: FocusOptics;
  limits: { powerMinDpt: number; powerMaxDpt: number };
}): Cell[] {
  const { blurRadiusPerDptPx, blurRadiusLogStd, sphericalStdWaves } = optics;
  const { powerMinDpt, powerMaxDpt } = limits;
  const range = powerMaxDpt - powerMinDpt;
  const beyondDpt = Math.min(outsideShare * range, outsidePx / blurRadiusPerDptPx);
  const reach = scaleSigmas * blurRadiusLogStd;
  const scales = Math.max(1, Math.ceil((2 * reach) / coarseLog));
  const widthLog = (2 * reach) / scales;
  const cells: Cell[] = [];
  for (let j = 0; j < scales; j++) {
    const logScale = Math.log(blurRadiusPerDptPx) - reach + (j + 0.5) * widthLog;
    const span = range + 2 * beyondDpt;
    const count = Math.max(12, Math.ceil((span * Math.exp(logScale)) / coarsePx));
    for (let i = 0; i < count; i++) {
      cells.push({
        dpt: powerMinDpt - beyondDpt + ((i + 0.5) * span) / count,
        logScale,
        spherical: 0,
        widthDpt: span / count,
        widthLog,
        widthSpherical: sphericalStdWaves > 0 ? 2 * sphericalReachWaves : 0,
        logLikelihood: 0,
        logPosterior: 0,
      });
    }
  }
  return cells;
}

/** Two halves of a cell: along best focus (0), blur scale (1) or spherical aberration (2). */
const halves = (cell: Cell, side: number): Cell[] =>
  [-0.25, 0.25].map((x) =>
    side === 0
      ? { ...cell, dpt: cell.dpt + x * cell.widthDpt, widthDpt: cell.widthDpt / 2 }
      : side === 1
        ? { ...cell, logScale: cell.logScale + x * cell.widthLog, widthLog: cell.widthLog / 2 }
        : { ...cell, spherical: cell.spherical + x * cell.widthSpherical, widthSpherical: cell.widthSpherical / 2 },
  );

function normalised(cells: Cell[]): FocusHypothesis[] {
  cells.sort((a, b) => b.logPosterior - a.logPosterior);
  const best = cells[0]!.logPosterior;
  const masses = cells.map((cell) => Math.exp(cell.logPosterior - best) * volume(cell));
  const total = masses.reduce((sum, mass) => sum + mass, 0);
  return cells
    .map((cell, i) => ({
      bestFocusDpt: cell.dpt,
      blurRadiusPerDptPx: Math.exp(cell.logScale),
      sphericalWaves: cell.spherical,
      probability: masses[i]! / total,
      cellDpt: cell.widthDpt,
      logLikelihood: cell.logLikelihood,
    }))
    .sort((a, b) => b.probability - a.probability);
}
