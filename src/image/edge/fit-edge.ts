import { choleskyFactor, choleskySolve } from '../../base/index.js';
import { bowPx, type EdgeLine, edgeColumnPx, fitRows, lineTiltRad } from './edge-line.js';
import { blurVariancePx2, type EdgeBlur, type EdgeTables, tabulateEdge } from './edge-model.js';
import type { EdgePatch } from './edge-patch.js';
import { type EdgeLevels, type ResidualSums, residualPass, sampleWeights, usedBins } from './residual-pass.js';
import { type RoughEdge, roomPx } from './rough-edge.js';
import { productsWith, weightedProducts } from './weighted-products.js';

/** An edge with its line, levels, noise and blur fitted together. */
export interface FittedEdge {
  line: EdgeLine;
  angleStdRad: number;
  levels: EdgeLevels;
  blur: EdgeBlur;
  tables: EdgeTables;
  sums: ResidualSums;
}

/** Rounds in which a few rows are enough, and how many of them. */
const coarseRounds = 3;
const coarseRows = 40;

/** Straightens out what the rough edge left: alternates between line and blur until both stand still. */
export function fitEdge(patch: EdgePatch, rough: RoughEdge): FittedEdge | null {
  let line = rough.line;
  const spare = Math.max(0.02, rough.blurStdPx ** 2 - 1 / 12);
  let blur: EdgeBlur = { diffractionPx: 0, discPx2: 2 * spare, gaussPx2: spare / 2, tiltRad: lineTiltRad(line) };
  let levels: EdgeLevels = { ...rough, darkVarianceDn2: 1, brightVarianceDn2: 1 };
  let degree = 1;
  let angleStdRad = 0;
  let changed = 1;
  for (let round = 0; ; round++) {
    const std = Math.sqrt(blurVariancePx2(blur));
    const reachPx = Math.min(Math.max(12, 8 * std), 1.6 * roomPx(patch, line) + 2);
    // The first rounds only come near: half the steps, and as many rows as that takes.
    const near = round < coarseRounds;
    const stepPx = Math.max(1 / 32, std / 16) * (near ? 2 : 1);
    const rowStep = near ? Math.max(1, Math.floor(patch.rows / coarseRows)) : 1;
    const size = 2 ** Math.ceil(Math.log2((2 * reachPx + 8 * std + 4) / stepPx));
    const tables = tabulateEdge(blur, stepPx, size);
    const sums = residualPass(patch, line, levels, tables, reachPx, rowStep);
    const fitted = fitRows(sums.shiftsPx, sums.shiftWeights, degree);
    if (!fitted) return null;
    angleStdRad = (2 * Math.sqrt(fitted.covariance[degree + 2]!)) / (patch.rows - 1);
    const moved = Math.max(...[0, patch.rows - 1].map((row) => Math.abs(edgeColumnPx(fitted.line, row))));
    if ((round >= 5 && moved < 0.001 && changed < 0.01) || round === 14) {
      return { line, angleStdRad, levels, blur, tables, sums };
    }
    if (round === 3 && degree === 1) {
      const bent = fitRows(sums.shiftsPx, sums.shiftWeights, 3);
      // Two more terms lower χ² by 2 on average where the edge is straight; 20 happens in one of 20 000.
      if (bent && fitted.chiSquare - bent.chiSquare > 20 && bowPx(bent.line) > 0.02) {
        degree = 3;
        line = added(line, bent.line);
      } else line = added(line, fitted.line);
    } else line = added(line, fitted.line);
    const next = improveBlur(blur, levels, tables, sums, round >= 3);
    if (!next) return null;
    changed = Math.abs(blurVariancePx2(next.blur) / blurVariancePx2(blur) - 1);
    blur = { ...next.blur, tiltRad: lineTiltRad(line) };
    levels = { ...next.levels, ...noiseOf(sums, tables, round === 0 ? 2 : 3, std) };
  }
}

function added(line: EdgeLine, change: EdgeLine): EdgeLine {
  const length = Math.max(line.coefficients.length, change.coefficients.length);
  return {
    rows: line.rows,
    coefficients: Array.from({ length }, (_, k) => (line.coefficients[k] ?? 0) + (change.coefficients[k] ?? 0)),
  };
}

/** Noise of each side from the scatter beyond a few blur widths; the mean residual per side is taken off. */
function noiseOf({ counts, sums, squares }: ResidualSums, { size, stepPx }: EdgeTables, widths: number, std: number) {
  const side = (from: number, to: number) => {
    let n = 0;
    let s = 0;
    let q = 0;
    for (let k = from; k < to; k++) {
      n += counts[k]!;
      s += sums[k]!;
      q += squares[k]!;
    }
    return n > 10 ? Math.max(0, (q - (s * s) / n) / (n - 1)) : null;
  };
  const away = Math.ceil((widths * std) / stepPx);
  const dark = side(0, size / 2 - away);
  const bright = side(size / 2 + away, size);
  return {
    darkVarianceDn2: dark ?? bright ?? 1,
    brightVarianceDn2: bright ?? dark ?? 1,
  };
}

/** One Gauss–Newton step on levels, light gradients and blur. */
function improveBlur(
  blur: EdgeBlur,
  levels: EdgeLevels,
  tables: EdgeTables,
  sums: ResidualSums,
  withDiffraction: boolean,
) {
  const { normal, right } = normalEquations(levels, tables, sums);
  // None of the blurs below zero: one that would be is moved to zero, and the rest solved again.
  const bounds = [
    { term: 2, lowest: -blur.discPx2 },
    { term: 3, lowest: -blur.gaussPx2 },
    { term: 6, lowest: -blur.diffractionPx },
  ];
  const solveWithin = (start: Held[]) => {
    const held = [...start];
    let change = solveHolding(normal, right, held);
    for (const bound of bounds) {
      if (change && change[bound.term]! < bound.lowest - 1e-12) {
        held.push(bound);
        change = solveHolding(normal, right, held);
      }
    }
    return change;
  };
  const without: Held[] = blur.diffractionPx > 0 ? [] : [{ term: 6, lowest: 0 }];
  let change = solveWithin(without);
  if (withDiffraction && change && blur.diffractionPx === 0) {
    const more = solveWithin([]);
    if (more && gain(normal, right, more) - gain(normal, right, change) > diffractionGain) change = more;
  }
  if (!change) return null;
  // Far from the solution the step is too bold: the variance changes threefold at most.
  const spread = blur.discPx2 / 4 + blur.gaussPx2;
  const step = change[2]! / 4 + change[3]!;
  const most = 2 * spread + 0.1;
  const part = Math.min(
    1,
    step > 0 ? most / step : (2 * spread) / (3 * Math.max(1e-12, -step)) + (spread < 0.02 ? 1 : 0),
  );
  return {
    blur: {
      ...blur,
      discPx2: Math.max(0, blur.discPx2 + part * change[2]!),
      gaussPx2: Math.max(0, blur.gaussPx2 + part * change[3]!),
      diffractionPx: Math.max(0, blur.diffractionPx + Math.min(0.7, change[6]!)),
    },
    levels: { ...levels, darkDn: levels.darkDn + change[0]!, brightDn: levels.brightDn + change[1]! },
  };
}

/** Terms: dark level, bright level, disc, Gaussian, light gradient on the dark and on the bright side, diffraction. */
const fitTerms = 7;

/** Diffraction's tails are believed in when they lower χ² by this much. */
const diffractionGain = 6;

interface Held {
  term: number;
  lowest: number;
}

/** By how much a change lowers χ². */
function gain(normal: Float64Array, right: Float64Array, change: Float64Array): number {
  let sum = 0;
  for (let a = 0; a < fitTerms; a++) {
    sum += 2 * right[a]! * change[a]!;
    for (let b = 0; b < fitTerms; b++) sum -= change[a]! * normal[a * fitTerms + b]! * change[b]!;
  }
  return sum;
}

function normalEquations(levels: EdgeLevels, tables: EdgeTables, { counts, sums }: ResidualSums) {
  const swing = levels.brightDn - levels.darkDn;
  const weights = sampleWeights(levels, tables, counts);
  const { esf, byDisc, byGauss, byDiffraction, size, stepPx } = tables;
  const n = fitTerms;
  const dark = new Float64Array(size);
  const darkSlope = new Float64Array(size);
  const brightSlope = new Float64Array(size);
  const pulled = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    const level = esf[k]!;
    const d = (k - size / 2) * stepPx;
    dark[k] = 1 - level;
    darkSlope[k] = d * (1 - level);
    brightSlope[k] = d * level;
    pulled[k] = weights[k]! * sums[k]!;
    weights[k] = weights[k]! * counts[k]!;
  }
  const columns = [dark, esf, byDisc, byGauss, darkSlope, brightSlope, byDiffraction];
  const range = usedBins(counts);
  const normal = weightedProducts({ columns, weights, ...range });
  const right = productsWith({ columns, values: pulled, ...range });
  // The blurs act on the whole step.
  for (const term of [2, 3, 6]) {
    right[term] = right[term]! * swing;
    for (let a = 0; a < n; a++) {
      normal[a * n + term] = normal[a * n + term]! * swing;
      normal[term * n + a] = normal[term * n + a]! * swing;
    }
  }
  for (let a = 0; a < n; a++) normal[a * n + a] = normal[a * n + a]! * (1 + 1e-6) + 1e-12;
  return { normal, right };
}

/** Solves with some terms held at given changes. */
function solveHolding(normal: Float64Array, right: Float64Array, held: readonly Held[]) {
  const n = fitTerms;
  const matrix = normal.slice();
  const target = right.slice();
  for (const { term, lowest } of held) {
    for (let a = 0; a < n; a++) target[a] = target[a]! - normal[a * n + term]! * lowest;
  }
  for (const { term, lowest } of held) {
    for (let a = 0; a < n; a++) matrix[term * n + a] = matrix[a * n + term] = 0;
    matrix[term * n + term] = 1;
    target[term] = lowest;
  }
  const factor = choleskyFactor(matrix, n);
  return factor && choleskySolve(factor, n, target);
}
