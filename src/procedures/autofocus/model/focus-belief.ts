import type { RingBlurTable, SceneLikelihood } from '../../../image/index.js';
import type { FocusOptics } from './focus-optics.js';
import { type BelievedFrame, type FocusPoint, hypothesisFit, shiftPerWavePx } from './hypothesis-fit.js';
import { type Peak, refinePeak } from './refine-peak.js';

/** One hypothesis: best focus, blur scale and aberration about these. */
export interface FocusHypothesis {
  bestFocusDpt: number;
  blurRadiusPerDptPx: number;
  sphericalWaves: number;
  asymmetryPerDpt: number;
  probability: number;
  /** Width in best focus that it stands for. */
  cellDpt: number;
  logLikelihood: number;
}

/** What is believed after some frames: hypotheses with their probabilities, most probable first. */
export type FocusBelief = readonly FocusHypothesis[];

interface Cell extends FocusPoint {
  widthDpt: number;
  widthLog: number;
  widthSpherical: number;
  logLikelihood: number;
  logPosterior: number;
}

const coarsePx = 3;
/** Cells are split down to this; what is left of them is measured at their peaks. */
const finestPx = 0.35;
const coarseLog = 0.25;
const scaleSigmas = 2.6;
const rounds = 12;
/** Cells below the best by more than this are given up, sooner while cells are large. */
const keepWithin = [80, 70, 60, 50, 40, 35, 30, 25, 20, 17, 14];
const mostSplit = 30;
/** Where this many cells share the probability, finer ones would say no more. */
const spreadOver = 60;
/** Best focus is looked for this far outside the limits, so that one out of range is told apart. */
const outsideShare = 0.25;
const outsidePx = 50;
/** Spherical aberration is looked for this far off none. */
const sphericalReachWaves = 0.4;
/** Cells this close to a better one belong to its peak. */
const peakReachPx = 2.5;
const mostPeaks = 5;
/** Peaks with less than this share of the probability are left as cells. */
const leastPeakMass = 1e-3;
/** First steps of the refinement. */
const stepPx = 0.25;
const mostLogStep = 0.02;
const sphericalStepWaves = 0.06;
const asymmetryStepPerDpt = 0.004;
const playRatioStep = 0.1;
const playPartStep = 0.15;
/** A peak that spreads over more than this is left as cells. */
const widestPeakPx = 6;

/**
 * Probability of best focus, blur scale and aberration, given the frames.
 *
 * Model    sceneLikelihood over cells of best focus (even prior, a quarter of the range beyond either limit), blur scale
 *          (log-normal prior) and W040 (normal prior), from coarse to fine: large cells are asked with the blur uncertain by
 *          their size, the best are split along their longest side. Then each peak by itself, as a normal density of best
 *          focus, scale, W040 and the asymmetry of the blur
 * Returns  hypotheses with their probabilities, which sum to 1; the most probable first.
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
  const fit = hypothesisFit({ frames, optics, likelihood, table, sidePx });
  const farthestDpt = (dpt: number) =>
    frames.reduce((far, { focalPowersDpt }) => Math.max(far, ...focalPowersDpt.map((p) => Math.abs(p - dpt))), 0);
  const cells = settledCells({
    cells: coarseCells({ optics, limits }),
    ask: (cell) =>
      Object.assign(
        cell,
        fit(cell, {
          bestFocusDpt: cell.widthDpt,
          logScale: cell.widthLog,
          sphericalWaves: cell.widthSpherical,
        }),
      ),
    lengthsPx: (cell) => {
      const scale = Math.exp(cell.logScale);
      return [
        scale * cell.widthDpt,
        (cell.widthLog * scale * farthestDpt(cell.bestFocusDpt)) / 3,
        shiftPerWavePx(optics) * cell.widthSpherical,
      ];
    },
  });
  const alone = { bestFocusDpt: 0, logScale: 0, sphericalWaves: 0 };
  const logPosterior = (place: Float64Array) => fit(pointOf(place), alone).logPosterior;
  const peaks = groupsOf(cells).map((group) => ({
    ...group,
    peak: group.mass < leastPeakMass ? null : peakOf(group.cells[0]!, { optics, frames, farthestDpt, logPosterior }),
  }));
  const measured = peaks.filter(({ mass }) => mass >= leastPeakMass);
  const isAllMeasured = measured.every(({ peak }) => peak !== null);
  const highest = Math.max(...measured.map(({ peak }) => peak?.logMass ?? Number.NEGATIVE_INFINITY));
  const massOf = ({ mass, peak }: (typeof peaks)[number]): number =>
    isAllMeasured && mass >= leastPeakMass ? Math.exp(peak!.logMass - highest) : mass;
  const total = peaks.reduce((sum, group) => sum + massOf(group), 0);
  return peaks
    .flatMap((group) => {
      const mass = massOf(group) / total;
      return group.peak === null ? asCells(group.cells, mass) : asDensity(group.peak, mass);
    })
    .sort((a, b) => b.probability - a.probability);
}

/** Cells split from coarse to fine where they matter. */
function settledCells({
  cells: coarse,
  ask,
  lengthsPx,
}: {
  cells: Cell[];
  ask: (cell: Cell) => void;
  lengthsPx: (cell: Cell) => readonly number[];
}): Cell[] {
  let cells = coarse;
  for (const cell of cells) ask(cell);
  for (let round = 0; round < rounds; round++) {
    cells.sort((a, b) => b.logPosterior - a.logPosterior);
    const best = cells[0]!.logPosterior;
    if (round > 2 && spread(cells) > spreadOver) break;
    const least = best - keepWithin[Math.min(round, keepWithin.length - 1)]!;
    const kept = cells.filter(({ logPosterior }, i) => i === 0 || (logPosterior >= least && i < 4 * mostSplit));
    let split = 0;
    const next: Cell[] = [];
    for (const cell of kept) {
      const lengths = lengthsPx(cell);
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
  return cells.sort((a, b) => b.logPosterior - a.logPosterior);
}

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
        bestFocusDpt: powerMinDpt - beyondDpt + ((i + 0.5) * span) / count,
        logScale,
        sphericalWaves: 0,
        asymmetryPerDpt: 0,
        play: null,
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
      ? { ...cell, bestFocusDpt: cell.bestFocusDpt + x * cell.widthDpt, widthDpt: cell.widthDpt / 2 }
      : side === 1
        ? { ...cell, logScale: cell.logScale + x * cell.widthLog, widthLog: cell.widthLog / 2 }
        : {
            ...cell,
            sphericalWaves: cell.sphericalWaves + x * cell.widthSpherical,
            widthSpherical: cell.widthSpherical / 2,
          },
  );

/** Cells about one best focus, the most probable first. */
interface CellGroup {
  cells: Cell[];
  mass: number;
}

/** Cells, best first, gathered about the best of them; those that are left in a last group. */
function groupsOf(cells: readonly Cell[]): CellGroup[] {
  const best = cells[0]!.logPosterior;
  const total = cells.reduce((sum, cell) => sum + Math.exp(cell.logPosterior - best) * volume(cell), 0);
  const groups: CellGroup[] = [];
  for (const cell of cells) {
    const mass = (Math.exp(cell.logPosterior - best) * volume(cell)) / total;
    const scale = Math.exp(cell.logScale);
    const home =
      groups.find(
        ({ cells: [first] }) => Math.abs(first!.bestFocusDpt - cell.bestFocusDpt) * scale < peakReachPx + scale * cell.widthDpt,
      ) ?? (groups.length > mostPeaks ? groups.at(-1) : undefined);
    if (home === undefined) groups.push({ cells: [cell], mass });
    else {
      home.cells.push(cell);
      home.mass += mass;
    }
  }
  return groups;
}

const pointOf = (place: Float64Array): FocusPoint => ({
  bestFocusDpt: place[0]!,
  logScale: place[1]!,
  sphericalWaves: place[2]!,
  asymmetryPerDpt: place[3]!,
  play: { widthRatio: place[4]!, part: place[5]! },
});

/** The peak about a cell; null where there is none to speak of. */
function peakOf(
  cell: Cell,
  {
    optics,
    frames,
    farthestDpt,
    logPosterior,
  }: {
    optics: FocusOptics;
    frames: readonly BelievedFrame[];
    farthestDpt: (dpt: number) => number;
    logPosterior: (place: Float64Array) => number;
  },
): Peak | null {
  const scale = Math.exp(cell.logScale);
  const farthestPx = Math.max(1, scale * farthestDpt(cell.bestFocusDpt));
  const steps = [
    stepPx / scale,
    optics.blurRadiusLogStd > 0 ? Math.min(mostLogStep, stepPx / farthestPx) : 0,
    optics.sphericalStdWaves > 0 ? sphericalStepWaves : 0,
    optics.asymmetryStdPerDpt > 0 ? asymmetryStepPerDpt : 0,
    frames.some(({ play }) => play !== null) ? playRatioStep : 0,
    frames.some(({ play }) => play?.isWhole === false) ? playPartStep : 0,
  ];
  const start = [cell.bestFocusDpt, cell.logScale, cell.sphericalWaves, 0, 1, 0.5];
  const first = refinePeak({ start, steps, logDensity: logPosterior });
  if (first === null) return null;
  const adapted = steps.map((step, i) =>
    Math.max(step / 3, Math.min(2 * step, 0.7 * Math.sqrt(first.covariance[i * steps.length + i]!))),
  );
  const peak = refinePeak({ start: first.place, steps: adapted, logDensity: logPosterior }) ?? first;
  const stdPx = scale * Math.sqrt(peak.covariance[0]!);
  const movedPx = scale * Math.abs(peak.place[0]! - cell.bestFocusDpt);
  return stdPx > widestPeakPx || movedPx > 2 * widestPeakPx ? null : peak;
}

const densityStep = 0.5;
const densityReach = 6;

/** A normal density of best focus as hypotheses; the other unknowns as they go with it. */
function asDensity({ place, covariance, logDensity }: Peak, mass: number): FocusHypothesis[] {
  const size = place.length;
  const std = Math.sqrt(covariance[0]!);
  const offsets = Array.from({ length: 2 * densityReach + 1 }, (_, i) => (i - densityReach) * densityStep);
  const weights = offsets.map((z) => Math.exp((-z * z) / 2));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return offsets.map((z, i) => {
    const at = Float64Array.from(place, (value, j) => value + (z * covariance[j * size]!) / std);
    const { bestFocusDpt, logScale, sphericalWaves, asymmetryPerDpt } = pointOf(at);
    return {
      bestFocusDpt,
      blurRadiusPerDptPx: Math.exp(logScale),
      sphericalWaves,
      asymmetryPerDpt,
      probability: (mass * weights[i]!) / total,
      cellDpt: densityStep * std,
      logLikelihood: logDensity,
    };
  });
}

function asCells(cells: readonly Cell[], mass: number): FocusHypothesis[] {
  const best = Math.max(...cells.map(({ logPosterior }) => logPosterior));
  const masses = cells.map((cell) => Math.exp(cell.logPosterior - best) * volume(cell));
  const total = masses.reduce((sum, own) => sum + own, 0);
  return cells.map(({ bestFocusDpt, logScale, sphericalWaves, asymmetryPerDpt, widthDpt, logLikelihood }, i) => ({
    bestFocusDpt,
    blurRadiusPerDptPx: Math.exp(logScale),
    sphericalWaves,
    asymmetryPerDpt,
    probability: (mass * masses[i]!) / total,
    cellDpt: widthDpt,
    logLikelihood,
  }));
}
