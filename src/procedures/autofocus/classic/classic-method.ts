import { requireInteger } from '../../../base/index.js';
import { type FocusMeasure, focusMeasureNoise, measureFocus, regionStatistics } from '../../../image/index.js';
import type { FocusMethodName, FocusProbe } from '../../../station/index.js';
import { greyHistogram, shareAtOrAbove } from '../../sweep/grey-histogram.js';
import type { FocusLimits, FocusMethod, FocusSearch, FocusStep, FocusTask, FocusView } from '../method.js';
import type { CurveRange, CurveSearch, CurveTop, NoTop } from './curve-search.js';
import { fibonacci } from './fibonacci.js';
import { fullSweep, type SweepFit } from './full-sweep.js';
import { goldenSection } from './golden-section.js';
import { hillClimb } from './hill-climb.js';
import { pixelNoiseStdDn } from './pixel-noise.js';

/** Ways to look for the top of a focus measure. */
export type ClassicMethodName = Exclude<FocusMethodName, 'model'>;

/** What a classic search may be told. */
export interface ClassicOptions {
  /** Default: tenengrad. */
  measure?: FocusMeasure;
  /** Power within which the top is to be known; default: a 400th of the range. */
  toleranceDpt?: number;
  /** full-sweep: powers to look at; default 60. */
  lookCount?: number;
  /** full-sweep: default gaussian. */
  fit?: SweepFit;
}

const toleranceShare = 1 / 400;
/** Share of saturated pixels above which a focus measure is not to be trusted. */
const mostSaturated = 0.02;
/** Rise of the curve, in standard deviations of its noise, below which there is nothing to find. */
const leastRise = 8;
/** Measure of the confirming frame over the highest seen, below which the scene was not still. */
const leastConfirmed = 0.6;

/**
 * A classic search on any focus measure, as a focus method: for comparison, and where the optics are not known.
 *
 * Model    a curve search (fullSweep, hillClimb, fibonacci, goldenSection) asks for powers; every power is reached from
 *          below where the lens has hysteresis. A frame at the found power confirms
 * Returns  refusals: saturated, no texture, out of range, two planes (several tops in a full sweep), device (sharpness does
 *          not change), unstable scene. It states no probability.
 * Throws   RangeError for an unknown measure or an option out of its range.
 * Trust    the measures know no optics: noise, side tops and two planes mislead the searches that look at few powers.
 * Source   docs/procedures/classic-searches.md
 * Checked  recovery: the seeded suite, bench/focus-suite; tests/procedures/autofocus/classic.test.ts
 */
export function classicMethod(name: ClassicMethodName, options: ClassicOptions = {}): FocusMethod {
  if (options.lookCount !== undefined) requireInteger('lookCount', options.lookCount, { min: 5, max: 1000 });
  return { name, start: (task) => startSearch(name, task, options) };
}

function curveSearchOf(
  name: ClassicMethodName,
  range: CurveRange,
  powersDpt: readonly number[] | null,
  { fit = 'gaussian', lookCount }: ClassicOptions,
): CurveSearch {
  switch (name) {
    case 'full-sweep':
      return fullSweep(range, { fit, powersDpt: lookCount ? null : powersDpt, ...(lookCount && { count: lookCount }) });
    case 'hill-climb':
      return hillClimb(range);
    case 'fibonacci':
      return fibonacci(range);
    case 'golden-section':
      return goldenSection(range);
  }
}

function startSearch(name: ClassicMethodName, task: FocusTask, options: ClassicOptions): FocusSearch {
  const { measure = 'tenengrad' } = options;
  const { limits, region } = task;
  const spanDpt = limits.powerMaxDpt - limits.powerMinDpt;
  const range: CurveRange = {
    lowDpt: limits.powerMinDpt,
    highDpt: limits.powerMaxDpt,
    startDpt: task.expected?.focalPowerDpt ?? task.startDpt,
    toleranceDpt: options.toleranceDpt ?? toleranceShare * spanDpt,
  };
  const curve: CurveSearch = curveSearchOf(name, range, limits.powersDpt, options);
  const probes: FocusProbe[] = [];
  let noise: { floor: number; std: number } | null = null;
  let top: CurveTop | null = null;

  const look = (focalPowerDpt: number, role: FocusProbe['role']): FocusStep => ({
    kind: 'look',
    focalPowerDpt: nearestPower(limits, focalPowerDpt),
    role,
    approachFrom: task.hysteresisDpt > 0 || (role === 'confirm' && !task.isResponseKnown) ? 'below' : null,
  });

  function goOn(next: IteratorResult<number, CurveTop | NoTop>): FocusStep {
    let step = next;
    while (!step.done) {
      const wantedDpt = nearestPower(limits, step.value);
      // Of a recording the same power would show the same frame again.
      const known = limits.powersDpt && probes.find(({ focalPowerDpt }) => focalPowerDpt === wantedDpt);
      if (!known) return look(wantedDpt, 'probe');
      step = curve.next(known.measure);
    }
    const flat = refuseFlat(probes, noise!);
    if (flat) return flat;
    if (step.value.kind === 'none') return refuseCurve(step.value);
    top = step.value;
    return look(top.focalPowerDpt, 'confirm');
  }

  return {
    probes,
    posterior: null,
    begin: () => (spanDpt > 0 ? goOn(curve.next()) : noRange(limits)),
    next(view: FocusView) {
      const { image, commandedDpt, powersDpt, exposedAtMs } = view;
      const saturated = shareAtOrAbove(greyHistogram(image, region), 0.98 * (2 ** image.bitDepth - 1));
      if (saturated > mostSaturated) return refuse('saturated', `${percent(saturated)} of the pixels are saturated.`);
      const value = measureFocus({ image, region, measure });
      if (noise === null) {
        const { noiseFloor, std } = focusMeasureNoise({
          image,
          region,
          measure,
          noiseStdDn: pixelNoiseStdDn(image, region),
        });
        noise = { floor: noiseFloor, std };
      }
      probes.push({
        role: top ? 'confirm' : 'probe',
        focalPowerDpt: commandedDpt,
        travelDpt: Math.max(...powersDpt) - Math.min(...powersDpt),
        measure: value,
        measureStd: noise.std,
        meanGreyDn: regionStatistics({ image, region }).meanDn,
        exposedAtMs,
      });
      return top ? confirm(top, probes) : goOn(curve.next(value));
    },
  };
}

/** Judges the confirming frame against the sharpest one before it. */
function confirm(wanted: CurveTop, probes: readonly FocusProbe[]): FocusStep {
  const last = probes.at(-1)!;
  const predicted = Math.max(...probes.slice(0, -1).map(({ measure }) => measure));
  if (last.measure < leastConfirmed * predicted) {
    return refuse(
      'unstable-scene',
      `The frame at the found power is ${percent(last.measure / predicted)} as sharp as one before it.`,
    );
  }
  return {
    kind: 'found',
    focalPowerDpt: last.focalPowerDpt,
    focalPowerStdDpt: Math.max(
      wanted.focalPowerStdDpt,
      Math.abs(last.focalPowerDpt - wanted.focalPowerDpt) / Math.sqrt(3),
    ),
    halfWidthDpt: null,
    probabilityInFocus: null,
    confirmation: { measured: last.measure, predicted, differenceStd: Math.SQRT2 * (last.measureStd ?? 0) },
  };
}

function refuseFlat(probes: readonly FocusProbe[], noise: { floor: number; std: number }): FocusStep | null {
  const measures = probes.map(({ measure }) => measure);
  const [lowest, highest] = [Math.min(...measures), Math.max(...measures)];
  if (highest - lowest > leastRise * noise.std) return null;
  return lowest === highest || lowest > 2 * noise.floor
    ? refuse('device', 'The sharpness of the region does not change with the focal power.')
    : refuse('no-texture', 'The sharpness of the region does not rise above its noise at any focal power.');
}

function refuseCurve({ reason, message }: NoTop): FocusStep {
  switch (reason) {
    case 'several-tops':
      return refuse('two-planes', message.replace(/\.?$/, ' dpt.'));
    case 'at-end':
      return refuse('out-of-range', `${message.replace(/\.$/, '')} dpt: best focus may lie beyond.`);
    case 'flat':
      return refuse('device', 'The sharpness of the region does not change with the focal power.');
  }
}

/** The power to command for a wanted one: inside the limits, and of a recording the nearest there is. */
function nearestPower({ powerMinDpt, powerMaxDpt, powersDpt }: FocusLimits, wantedDpt: number): number {
  const held = Math.min(powerMaxDpt, Math.max(powerMinDpt, wantedDpt));
  return powersDpt?.reduce((a, b) => (Math.abs(b - held) < Math.abs(a - held) ? b : a)) ?? held;
}

const noRange = ({ powerMinDpt }: FocusLimits) =>
  refuse('device', `There is one focal power only, ${powerMinDpt} dpt.`);

const refuse = (
  reason: Extract<FocusStep, { kind: 'refused' }>['reason'],
  message: string,
): Extract<FocusStep, { kind: 'refused' }> => ({ kind: 'refused', reason, message });

const percent = (share: number): string => `${(100 * share).toFixed(0)} %`;
