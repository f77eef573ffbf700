import type { RingBlurTable, SceneLikelihood } from '../../../image/index.js';
import type { CompleteFocusOptics } from './focus-optics.js';
import { type BelievedFrame, type FocusPoint, hypothesisFit, shiftPerWavePx } from './hypothesis-fit.js';
import { climb, type ProfilePoint, profileAlongFirst } from './refine-peak.js';

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

/** What is believed after some frames, and how likely they were to look as they do. */
export interface WeighedBelief {
  belief: FocusBelief;
  /** Natural logarithm, comparable between beliefs from the same frames. */
  logEvidence: number;
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
const finestPx = 0.7;
const coarseLog = 0.25;
const scaleSigmas = 2.6;
const rounds = 9;
/** Cells below the best by more than this are given up, sooner while cells are large. */
const keepWithin = [80, 70, 60, 50, 40, 35, 30, 25, 20, 17, 14];
const mostSplit = 20;
/** Where this many cells share the probability, finer ones would say no more. */
const spreadOver = 60;
/** Best focus is looked for this far outside the limits, so that one out of range is told apart. */
const outsideShare = 0.25;
const outsidePx = 50;
/** Spherical aberration is looked for this far off none. */
const sphericalReachWaves = 0.4;
/** Cells this close to a better one belong to its peak. */
const peakReachPx = 2.5;
const mostPeaks = 4;
/** Peaks with less than this share of the probability are left out. */
const leastPeakMass = 5e-4;
/** First steps of the refinement. */
const stepPx = 0.25;
const mostLogStep = 0.02;
const sphericalStepWaves = 0.06;
const asymmetryStepPerDpt = 0.004;
const playRatioStep = 0.1;
const playPartStep = 0.15;
/** How far a profile goes from its top. */
const profileReachPx = 8;

/**
 * Probability of best focus, blur scale and aberration, given the frames.
 *
 * Model    hypothesisFit over cells of best focus (even prior, a quarter of the range beyond either limit at most; where it is
 *          expected, Student's t about that), blur scale (log-normal prior) and W040 (normal prior), from coarse to fine: large
 *          cells are asked with the blur uncertain by their size, the best are split along their longest side. Then each peak
 *          is climbed and its density followed along best focus, the other unknowns (asymmetry and hysteresis too) integrated
 * Returns  hypotheses with their probabilities, which sum to 1, the most probable first; and the evidence.
 */
export function believe({
  frames,
  optics,
  limits,
  likelihood,
  table,
  sidePx,
  expected = null,
}: {
  frames: readonly BelievedFrame[];
  optics: CompleteFocusOptics;
  limits: { powerMinDpt: number; powerMaxDpt: number };
  likelihood: SceneLikelihood;
  table: RingBlurTable;
  /** Shorter side of the region. */
  sidePx: number;
  /** Where best focus is expected, 1σ; null: anywhere alike. */
  expected?: { focalPowerDpt: number; focalPowerStdDpt: number } | null;
}): WeighedBelief {
  const askPoint = hypothesisFit({ frames, optics, likelihood, table, sidePx, expected });
  const farthestDpt = (dpt: number) =>
    frames.reduce((far, { focalPowersDpt }) => Math.max(far, ...focalPowersDpt.map((p) => Math.abs(p - dpt))), 0);
  const cells = settledCells({
    cells: coarseCells({ optics, limits }),
    ask: (cell) =>
      Object.assign(
        cell,
        askPoint(cell, {
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
  const logPosterior = (place: Float64Array) => askPoint(pointOf(place), alone).logPosterior;
  const profiles: ProfilePoint[][] = [];
  for (const { cells: own, mass } of groupsOf(cells)) {
    if (mass < leastPeakMass) continue;
    const profile = profileOf(own[0]!, {
      optics,
      frames,
      farthestDpt,
      logPosterior,
      isKnown: (dpt) => profiles.some((known) => dpt > known[0]!.place[0]! && dpt < known.at(-1)!.place[0]!),
    });
    if (profile !== null) profiles.push(profile);
  }
  const highest = Math.max(...profiles.flat().map(({ logMass }) => logMass));
  const hypotheses = profiles.flatMap((profile) => alongProfile(profile, highest));
  const total = hypotheses.reduce((sum, { probability }) => sum + probability, 0);
  return {
    belief: hypotheses
      .map((hypothesis) => ({ ...hypothesis, probability: hypothesis.probability / total }))
      .sort((a, b) => b.probability - a.probability),
    logEvidence: highest + Math.log(total),
  };
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
  optics: CompleteFocusOptics;
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
        ({ cells: [first] }) =>
          Math.abs(first!.bestFocusDpt - cell.bestFocusDpt) * scale < peakReachPx + scale * cell.widthDpt,
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

/** The profile of best focus about a cell; null where it belongs to another. */
function profileOf(
  cell: Cell,
  {
    optics,
    frames,
    farthestDpt,
    logPosterior,
    isKnown,
  }: {
    optics: CompleteFocusOptics;
    frames: readonly BelievedFrame[];
    farthestDpt: (dpt: number) => number;
    logPosterior: (place: Float64Array) => number;
    /** Whether another profile covers a best focus. */
    isKnown: (dpt: number) => boolean;
  },
): ProfilePoint[] | null {
  const scale = Math.exp(cell.logScale);
  const farthestPx = Math.max(1, scale * farthestDpt(cell.bestFocusDpt));
  const steps = [
    stepPx / scale,
    optics.blurRadiusLogStd > 0 ? Math.min(mostLogStep, stepPx / farthestPx) : 0,
    optics.sphericalStdWaves > 0 ? sphericalStepWaves : 0,
    optics.asymmetryStdPerDpt > 0 ? asymmetryStepPerDpt : 0,
    frames.some(({ play }) => play !== null) ? playRatioStep : 0,
    frames.some(({ play }) => play?.moves.startPart === null) ? playPartStep : 0,
  ];
  const start = [cell.bestFocusDpt, cell.logScale, cell.sphericalWaves, 0, 1, 0.5];
  const top = climb({ start, steps, logDensity: logPosterior });
  if (isKnown(top.place[0]!)) return null;
  return profileAlongFirst({ top, farthest: profileReachPx / scale, logDensity: logPosterior });
}

/** Hypotheses along a profile, each for its part of best focus. */
function alongProfile(profile: readonly ProfilePoint[], highest: number): FocusHypothesis[] {
  const last = profile.length - 1;
  return profile.map(({ place, logDensity, logMass }, i) => {
    const { bestFocusDpt, logScale, sphericalWaves, asymmetryPerDpt } = pointOf(place);
    const low = profile[Math.max(0, i - 1)]!.place[0]!;
    const high = profile[Math.min(last, i + 1)]!.place[0]!;
    const cellDpt = (high - low) / (i === 0 || i === last ? 1 : 2);
    return {
      bestFocusDpt,
      blurRadiusPerDptPx: Math.exp(logScale),
      sphericalWaves,
      asymmetryPerDpt,
      probability: Math.exp(logMass - highest) * cellDpt,
      cellDpt,
      logLikelihood: logDensity,
    };
  });
}
