import { fitPeak, type PeakFit } from '../../image/index.js';
import type { AvailablePowers } from '../sweep/plan.js';
import type { SeenPoint } from '../sweep/run.js';
import { refusePoints } from './judge-points.js';
import { lensNoise } from './lens-noise.js';
import { type Refusal, refuse } from './refusals.js';

/** A stretch of powers to look at. */
export interface FocusWindow {
  kind: 'coarse' | 'fine';
  lowDpt: number;
  highDpt: number;
  stepDpt: number;
}

/** What autofocus knows when it decides what to do next. */
export interface FocusView {
  /** All points so far. */
  points: readonly SeenPoint[];
  /** Windows swept so far, in order. */
  windows: readonly FocusWindow[];
  available: AvailablePowers;
  /** Half-width of the depth of field, as predicted. */
  halfWidthDpt: number;
  /** Of the lens, as its datasheet says: standard deviation of the power at the same command. */
  repeatabilityDpt: number;
  /** Where to look first, with how far it may be off; null: look everywhere. Decides nothing else. */
  expected: { focalPowerDpt: number; mostOffDpt: number } | null;
}

/** What next. */
export type FocusStep =
  | { kind: 'sweep'; window: FocusWindow }
  | { kind: 'found'; focalPowerDpt: number; fitStdDpt: number }
  | Refusal;

const mostFineSweeps = 4;
/** Reach of a fine sweep either way, in depth-of-field half-widths. */
const fineReach = 1.5;
/** Residual of the fit over the height of the peak above which the scene was not still, the lens's own scatter aside. */
const mostResidual = 0.12;
/** Standard deviations of the lens's own scatter that the residual may have. */
const lensSigmas = 2;
/** Repeatability, and uncertainty of best focus, over the half-width of the depth of field: above, the lens is too coarse. */
const mostOfHalfWidth = 0.5;
/** Powers of a recording up to which all of them are looked at. */
const fewPowers = 40;

/**
 * Autofocus as a decision: what has been seen → what next.
 *
 * Model    a coarse sweep (around the expected power, then over the whole range if no peak is inside), a fine sweep of nine
 *          powers over one and a half depth-of-field half-widths either way, moved along while the peak lies at its end, then a
 *          weighted Gaussian fit, its weights with the scatter that the lens's repeatability makes. An expectation only saves frames: a peak at the end of its window, or none, sends the
 *          search over the whole range.
 * Returns  the next window, best focus with the standard deviation of the fit, or a refusal with its reason.
 * Trust    a second plane outside the first window is not seen when an expectation is given.
 * Source   peak model: fitPeak; procedure in docs/procedures/autofocus.md
 */
export function planAutofocus(view: FocusView): FocusStep {
  const { points, windows, available } = view;
  const whole = wholeRange(view);
  const last = windows.at(-1);
  if (!last)
    return {
      kind: 'sweep',
      window: view.expected && !isShortList(available) ? expectedWindow(view, view.expected) : whole,
    };
  if (points.length === 0) return refuse('too-few-powers', 'No focal power is available at this distance.');
  const unfit = refusePoints(points);
  const sawAll = windows.some(({ lowDpt, highDpt }) => lowDpt <= whole.lowDpt && highDpt >= whole.highDpt);
  if (unfit) return sawAll || unfit.reason !== 'no-texture' ? unfit : { kind: 'sweep', window: whole };
  if (last.kind === 'coarse' && !isShortList(available)) return afterCoarse(view, whole, sawAll);
  return afterFine(view, whole, last);
}

function afterCoarse(view: FocusView, whole: FocusWindow, sawAll: boolean): FocusStep {
  const fit = fitPeak(curveOf(view.points));
  if (fit.kind === 'none' && fit.reason === 'multiple') return refuse('multiple-peaks', inDpt(fit.message));
  const atEnd = isAtEnd(view.points);
  const nothing = fit.kind === 'none' && fit.reason === 'flat' && isFlat(view.points);
  if ((atEnd || nothing) && !sawAll) return { kind: 'sweep', window: whole };
  if (nothing) return noResponse(view.points);
  const top = sharpestOf(view.points).focalPowerDpt;
  const near = fit.kind === 'found' && Math.abs(fit.peak - top) <= whole.stepDpt ? fit.peak : top;
  return { kind: 'sweep', window: fineWindow(view, near) };
}

function afterFine(view: FocusView, whole: FocusWindow, last: FocusWindow): FocusStep {
  const slack = 1e-6;
  const close = isShortList(view.available)
    ? aroundPeak(view)
    : view.points.filter((p) => p.focalPowerDpt >= last.lowDpt - slack && p.focalPowerDpt <= last.highDpt + slack);
  const ofLens = lensNoise(close, view);
  const fit = fitPeak(curveOf(close, ofLens));
  if (fit.kind === 'found') return judgeFit(view, fit, rms(ofLens));
  if (fit.reason === 'too-few') return refuse('too-few-powers', fit.message);
  if (fit.reason === 'multiple' && !isCoarse(view)) return refuse('multiple-peaks', inDpt(fit.message));
  if (fit.reason === 'flat' && isShortList(view.available)) return noResponse(view.points);
  const top = sharpestOf(close).focalPowerDpt;
  const end = Math.abs(top - whole.lowDpt) < slack || Math.abs(top - whole.highDpt) < slack;
  if (fit.reason === 'at-end' && (end || isShortList(view.available))) return outOfRange(view, top);
  if (view.windows.filter(({ kind }) => kind === 'fine').length >= mostFineSweeps) {
    const message = `The sharpest power moved from sweep to sweep; last: ${inDpt(fit.message)}`;
    return isCoarse(view) ? tooCoarse(view, message) : refuse('unstable-scene', message);
  }
  return { kind: 'sweep', window: fineWindow(view, top, fit.reason === 'flat' ? 2 : 1) };
}

/** Of a recording, what a fine sweep would have taken, where that is enough; else all of it. */
function aroundPeak({ points, halfWidthDpt }: FocusView): readonly SeenPoint[] {
  const fit = fitPeak(curveOf(points));
  const centre = fit.kind === 'found' ? fit.peak : sharpestOf(points).focalPowerDpt;
  const near = points.filter((p) => Math.abs(p.focalPowerDpt - centre) <= 1.15 * fineReach * halfWidthDpt);
  return near.length >= fewestFinePoints ? near : points;
}

/** A fit through a fine sweep: best focus, or too much scatter, and whose. */
function judgeFit(view: FocusView, fit: Extract<PeakFit, { kind: 'found' }>, lensRms: number): FocusStep {
  const { residualRms, height, peak, peakStd } = fit;
  const ofLens = lensRms > mostResidual * height;
  const scatter = `The points scatter by ${percentOf(residualRms, height)} of the peak’s height about the fitted curve`;
  if (residualRms > Math.hypot(mostResidual * height, lensSigmas * lensRms)) {
    return ofLens ? tooCoarse(view, `${scatter}.`) : refuse('unstable-scene', `${scatter}.`);
  }
  if (ofLens && peakStd > mostOfHalfWidth * view.halfWidthDpt) {
    return tooCoarse(view, `${scatter}, and best focus is known to ± ${peakStd.toFixed(3)} dpt only.`);
  }
  return { kind: 'found', focalPowerDpt: peak, fitStdDpt: peakStd };
}

const isCoarse = ({ repeatabilityDpt, halfWidthDpt }: FocusView): boolean =>
  repeatabilityDpt > mostOfHalfWidth * halfWidthDpt;

function tooCoarse({ repeatabilityDpt, halfWidthDpt }: FocusView, seen: string): Refusal {
  return refuse(
    'lens-repeatability',
    `${seen} The lens comes back to a power to ± ${repeatabilityDpt.toFixed(3)} dpt, the half-width of the depth of field is ${halfWidthDpt.toFixed(3)} dpt.`,
  );
}

function wholeRange({ available, halfWidthDpt }: FocusView): FocusWindow {
  const { powerMinDpt: lowDpt, powerMaxDpt: highDpt } = available;
  const span = highDpt - lowDpt;
  const stepDpt = Math.max(Math.min(2 * halfWidthDpt, span / 12), span / 60);
  return { kind: 'coarse', lowDpt, highDpt, stepDpt: isShortList(available) ? span / 1000 || 1 : stepDpt };
}

function expectedWindow(view: FocusView, expected: NonNullable<FocusView['expected']>): FocusWindow {
  const { powerMinDpt, powerMaxDpt } = view.available;
  const half = Math.max(2.5 * view.halfWidthDpt, expected.mostOffDpt + view.halfWidthDpt);
  const centre = Math.min(powerMaxDpt - half / 2, Math.max(powerMinDpt + half / 2, expected.focalPowerDpt));
  return {
    kind: 'coarse',
    lowDpt: Math.max(powerMinDpt, centre - half),
    highDpt: Math.min(powerMaxDpt, centre + half),
    stepDpt: Math.min(1.25 * view.halfWidthDpt, half / 2),
  };
}

function fineWindow({ available, halfWidthDpt }: FocusView, aroundDpt: number, widen = 1): FocusWindow {
  return {
    kind: 'fine',
    lowDpt: Math.max(available.powerMinDpt, aroundDpt - fineReach * widen * halfWidthDpt),
    highDpt: Math.min(available.powerMaxDpt, aroundDpt + fineReach * widen * halfWidthDpt),
    stepDpt: (fineReach * widen * halfWidthDpt) / 4,
  };
}

/** Points that a fit of four parameters and its scatter need. */
const fewestFinePoints = 7;

const isShortList = ({ powersDpt }: AvailablePowers): boolean => powersDpt !== null && powersDpt.length <= fewPowers;

const sharpestOf = (points: readonly SeenPoint[]): SeenPoint =>
  points.reduce((a, b) => (b.measure > a.measure ? b : a));

function isAtEnd(points: readonly SeenPoint[]): boolean {
  const powers = points.map((p) => p.focalPowerDpt);
  const top = sharpestOf(points).focalPowerDpt;
  return top === Math.min(...powers) || top === Math.max(...powers);
}

/** No rise above the noise of the points. */
function isFlat(points: readonly SeenPoint[]): boolean {
  const measures = points.map((p) => p.measure);
  return Math.max(...measures) - Math.min(...measures) < 6 * Math.max(...points.map((p) => p.measureStd));
}

function noResponse(points: readonly SeenPoint[]): Refusal {
  const { measure, noiseFloorMeasure } = sharpestOf(points);
  if (measure < 2 * noiseFloorMeasure) {
    return refuse('no-texture', 'The focus measure does not rise above its noise at any focal power.');
  }
  return refuse('no-response', 'The picture has structure, but its sharpness does not change with the focal power.');
}

function outOfRange({ available, expected }: FocusView, topDpt: number): Refusal {
  const { powerMinDpt, powerMaxDpt } = available;
  const side = topDpt - powerMinDpt < powerMaxDpt - topDpt ? 'lowest' : 'highest';
  const predicted = expected ? ` Predicted: ${expected.focalPowerDpt.toFixed(3)} dpt.` : '';
  return refuse(
    'out-of-range',
    `The picture is sharpest at the ${side} available power, ${topDpt.toFixed(3)} dpt (${powerMinDpt.toFixed(3)} … ${powerMaxDpt.toFixed(3)} dpt); best focus may lie beyond.${predicted}`,
  );
}

const curveOf = (points: readonly SeenPoint[], ofLens: readonly number[] = points.map(() => 0)) => ({
  positions: points.map((p) => p.focalPowerDpt),
  values: points.map((p) => p.measure),
  valueStds: points.map((p, i) => Math.hypot(p.measureStd, ofLens[i]!)),
});

const rms = (list: readonly number[]): number => Math.sqrt(list.reduce((sum, v) => sum + v * v, 0) / list.length);
const percentOf = (part: number, whole: number): string => `${((100 * part) / whole).toFixed(0)} %`;

/** The messages of the fit name positions: here they are dpt. */
const inDpt = (message: string): string => message.replace(/\.$/, ' dpt.');
