import type { RingBlurTable, SceneLikelihood, SeenSpectrum } from '../../../image/index.js';
import type { FocusOptics } from './focus-optics.js';

/** A frame in the belief: its power as light met it, as far as known, and its spectrum. */
export interface BelievedFrame extends SeenSpectrum {
  focalPowersDpt: readonly number[];
}

/** One cell of the hypotheses: best focus and blur scale about these. */
export interface FocusHypothesis {
  bestFocusDpt: number;
  blurRadiusPerDptPx: number;
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
  widthDpt: number;
  widthLog: number;
  logLikelihood: number;
  logPosterior: number;
}

/** Blur that aberrations, colour and hysteresis add or take, 1σ; and the relative error of the model's power. */
const blurErrorPx = 0.15;
const modelError = 0.08;
/** A cell this wide in blur is asked with this much more error of the model. */
const modelErrorPerPx = 0.15;
const mostModelError = 0.5;

const coarsePx = 3;
const finestPx = 0.09;
const coarseLog = 0.25;
const scaleSigmas = 2.6;
const rounds = 7;
/** Cells below the best by more than this are given up, sooner while cells are large. */
const keepWithin = [80, 60, 40, 30, 20, 14, 14];
const mostSplit = 40;
/** Where this many cells share the probability, finer ones would say no more. */
const spreadOver = 40;
/** Best focus is looked for this far outside the limits, so that one out of range is told apart. */
const outsideShare = 0.25;
const outsidePx = 50;

/** Fall of belief for each time that a blur exceeds the table. */
const beyondTable = 20;

const uniformStd = 1 / Math.sqrt(12);

/**
 * Probability of best focus and blur scale, given the frames.
 *
 * Model    sceneLikelihood over a grid of best focus (even prior, a quarter of the range beyond either limit) and blur scale
 *          (log-normal prior), from coarse to fine: large cells are asked with the blur uncertain by their size, the best are
 *          split. A frame of a moving lens sees the mean of the shares along its powers
 * Returns  cells with their probabilities, which sum to 1; the most probable first.
 * Cost     some milliseconds for a known scale, some tens for an unknown one.
 */
export function believe({
  frames,
  optics,
  limits,
  likelihood,
  table,
}: {
  frames: readonly BelievedFrame[];
  optics: FocusOptics;
  limits: { powerMinDpt: number; powerMaxDpt: number };
  likelihood: SceneLikelihood;
  table: RingBlurTable;
}): FocusBelief {
  const shares = frames.map(({ powersDn2 }) => new Float64Array(powersDn2.length));
  const part = new Float64Array(frames[0]!.powersDn2.length);
  const logMiddle = Math.log(optics.blurRadiusPerDptPx);
  const logStd = optics.blurRadiusLogStd;

  function ask(cell: Cell): void {
    const scale = Math.exp(cell.logScale);
    const cellPx = scale * cell.widthDpt * uniformStd;
    let farthestPx = 0;
    let error = modelError;
    frames.forEach(({ focalPowersDpt }, k) => {
      const into = shares[k]!;
      if (focalPowersDpt.length > 1) into.fill(0);
      for (const powerDpt of focalPowersDpt) {
        const blurRadiusPx = Math.abs(scale * (powerDpt - cell.dpt));
        const blurRadiusStdPx = Math.hypot(blurErrorPx, cellPx, blurRadiusPx * cell.widthLog * uniformStd);
        farthestPx = Math.max(farthestPx, blurRadiusPx);
        error = Math.max(error, modelError + modelErrorPerPx * (blurRadiusStdPx - blurErrorPx));
        if (focalPowersDpt.length === 1) table.read({ blurRadiusPx, blurRadiusStdPx }, into);
        else {
          table.read({ blurRadiusPx, blurRadiusStdPx }, part);
          for (let ring = 0; ring < part.length; ring++) into[ring]! += part[ring]! / focalPowersDpt.length;
        }
      }
    });
    const fit = likelihood.fit(frames, shares, Math.min(mostModelError, error));
    const sigmas = logStd > 0 ? (cell.logScale - logMiddle) / logStd : 0;
    cell.logLikelihood = fit.logLikelihood;
    // A blur beyond the table looks like the table's last: little reason to believe in it.
    const beyond = Math.max(0, farthestPx / table.maxBlurRadiusPx - 1);
    cell.logPosterior = fit.logLikelihood - (sigmas * sigmas) / 2 - beyondTable * beyond;
  }

  let cells = coarseCells({ optics, limits });
  for (const cell of cells) ask(cell);
  const farthestDpt = (dpt: number) =>
    frames.reduce((far, { focalPowersDpt }) => Math.max(far, ...focalPowersDpt.map((p) => Math.abs(p - dpt))), 0);
  for (let round = 0; round < rounds; round++) {
    cells.sort((a, b) => b.logPosterior - a.logPosterior);
    const best = cells[0]!.logPosterior;
    if (round > 1 && spread(cells) > spreadOver) break;
    const least = best - keepWithin[round]!;
    const kept = cells.filter(({ logPosterior }, i) => logPosterior > least && i < 4 * mostSplit);
    let split = 0;
    const next: Cell[] = [];
    for (const cell of kept) {
      const scale = Math.exp(cell.logScale);
      const across = scale * cell.widthDpt > finestPx;
      const along = cell.widthLog * scale * farthestDpt(cell.dpt) > 3 * finestPx;
      if ((!across && !along) || split >= mostSplit) {
        next.push(cell);
        continue;
      }
      split++;
      for (const child of halves(cell, across, along)) {
        ask(child);
        next.push(child);
      }
    }
    cells = next;
    if (split === 0) break;
  }
  return normalised(cells);
}

/** How many cells share the probability: 1/Σp². */
function spread(cells: readonly Cell[]): number {
  const best = cells[0]!.logPosterior;
  let sum = 0;
  let squares = 0;
  for (const { logPosterior, widthDpt } of cells) {
    const mass = Math.exp(logPosterior - best) * widthDpt;
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
  const { blurRadiusPerDptPx, blurRadiusLogStd } = optics;
  const { powerMinDpt, powerMaxDpt } = limits;
  const range = powerMaxDpt - powerMinDpt;
  const beyondDpt = Math.min(outsideShare * range, outsidePx / blurRadiusPerDptPx);
  const reach = scaleSigmas * blurRadiusLogStd;
  const scales = reach > 0 ? Math.max(3, Math.ceil((2 * reach) / coarseLog)) : 1;
  const widthLog = (2 * reach) / scales;
  const cells: Cell[] = [];
  for (let j = 0; j < scales; j++) {
    const logScale = Math.log(blurRadiusPerDptPx) - reach + (j + 0.5) * widthLog;
    const span = range + 2 * beyondDpt;
    const count = Math.max(12, Math.ceil((span * Math.exp(logScale)) / coarsePx));
    for (let i = 0; i < count; i++) {
      const dpt = powerMinDpt - beyondDpt + ((i + 0.5) * span) / count;
      cells.push({ dpt, logScale, widthDpt: span / count, widthLog, logLikelihood: 0, logPosterior: 0 });
    }
  }
  return cells;
}

function halves(cell: Cell, across: boolean, along: boolean): Cell[] {
  const sides = [-0.25, 0.25];
  const children: Cell[] = [];
  for (const x of across ? sides : [0]) {
    for (const y of along ? sides : [0]) {
      children.push({
        ...cell,
        dpt: cell.dpt + x * cell.widthDpt,
        widthDpt: across ? cell.widthDpt / 2 : cell.widthDpt,
        logScale: cell.logScale + y * cell.widthLog,
        widthLog: along ? cell.widthLog / 2 : cell.widthLog,
      });
    }
  }
  return children;
}

function normalised(cells: Cell[]): FocusHypothesis[] {
  cells.sort((a, b) => b.logPosterior - a.logPosterior);
  const best = cells[0]!.logPosterior;
  const masses = cells.map(
    (cell) => Math.exp(cell.logPosterior - best) * cell.widthDpt * (cell.widthLog > 0 ? cell.widthLog : 1),
  );
  const total = masses.reduce((sum, mass) => sum + mass, 0);
  return cells
    .map((cell, i) => ({
      bestFocusDpt: cell.dpt,
      blurRadiusPerDptPx: Math.exp(cell.logScale),
      probability: masses[i]! / total,
      cellDpt: cell.widthDpt,
      logLikelihood: cell.logLikelihood,
    }))
    .sort((a, b) => b.probability - a.probability);
}
