import type { Station, TimingPlan } from '../station/index.js';
import { frameAfterMoveMs, moveSettling, settledToleranceDpt } from './lens-move.js';
import type { PlannedPlane } from './planned-plane.js';
import { comparedRow, opening, type PlanRow } from './verdict.js';
import { inWords } from './words.js';

export interface Timing {
  plan: TimingPlan;
  /** Of the slowest move; null where the lens never settles. */
  settlingMs: number | null;
  /** Settling of all moves, exposure and readout of all planes. */
  cycleMs: number | null;
}

/**
 * Time for all planes of one part, and back to the first.
 *
 * Model    settling of moveSettling to a quarter of the half-width of the depth of field of the plane moved to; then
 *          exposure and readout, no faster than the frame rate allows
 * Formula  Σ max(settling + exposure + readout, 1 / frame rate)
 * Returns  planes without a power are left out.
 */
export function timingOf({ station, planes }: { station: Station; planes: readonly PlannedPlane[] }): Timing {
  const stops = planes.flatMap(({ prediction, allowedHalfWidthDpt }) =>
    prediction.neededPowerDpt === null
      ? []
      : [{ name: prediction.name, powerDpt: prediction.neededPowerDpt, allowedHalfWidthDpt }],
  );
  const moves = stops.map(({ name, powerDpt, allowedHalfWidthDpt }, i) => {
    const before = stops.at(i - 1)!;
    const toleranceDpt = settledToleranceDpt(station, allowedHalfWidthDpt);
    const settling = moveSettling(station, { fromDpt: before.powerDpt, toDpt: powerDpt, toleranceDpt });
    return { fromPlane: before.name, toPlane: name, stepDpt: powerDpt - before.powerDpt, toleranceDpt, ...settling };
  });
  const plainMs = moves.map((move) => move.plainMs);
  const cycleMs = cycleOf(station, plainMs);
  const rings = station.parts.tunableLens.dampingRatio < 1;
  const shapedCycleMs = rings ? cycleOf(station, moves.map(quickestMs)) : null;
  const fitting = (ofMs: number | null) =>
    ofMs === null || ofMs === 0 ? null : Math.floor((station.task.cycleTimeMs * moves.length) / ofMs + 1e-9);
  return {
    plan: {
      frameMs: frameAfterMoveMs(station, 0)!,
      moves,
      shapedCycleMs,
      planesPerCycleCount: fitting(cycleMs),
      shapedPlanesPerCycleCount: fitting(shapedCycleMs),
    },
    settlingMs: plainMs.includes(null) ? null : Math.max(0, ...(plainMs as number[])),
    cycleMs,
  };
}

type Move = TimingPlan['moves'][number];

/** The quicker of both shapers. */
const quickestShapedMs = ({ zeroVibrationMs: a, zeroVibrationDerivativeMs: b }: Move): number | null =>
  a === null || b === null ? (a ?? b) : Math.min(a, b);

/** Plain or shaped, whichever is quicker. */
function quickestMs(move: Move): number | null {
  const shapedMs = quickestShapedMs(move);
  return shapedMs === null || move.plainMs === null ? (shapedMs ?? move.plainMs) : Math.min(shapedMs, move.plainMs);
}

function cycleOf(station: Station, settlings: readonly (number | null)[]): number | null {
  return settlings.reduce<number | null>((sum, settlingMs) => {
    const planeMs = frameAfterMoveMs(station, settlingMs);
    return sum === null || planeMs === null ? null : sum + planeMs;
  }, 0);
}

/** Rows of time: the slowest move plain and shaped, and the cycle. */
export function timingRows({ station, timing }: { station: Station; timing: Timing }): PlanRow[] {
  const settling = settlingRow(timing);
  return settling ? [settling, cycleRow({ station, timing })] : [cycleRow({ station, timing })];
}

/** The slowest move, for information: the task requires a cycle, not a settling. */
function settlingRow({ plan: { moves }, settlingMs }: Timing): PlanRow | null {
  if (settlingMs === null || moves.length === 0) return null;
  const slowest = moves.reduce((a, b) => (b.plainMs! > a.plainMs! ? b : a));
  return {
    key: 'timing.settling',
    title: 'Settling of the slowest move',
    unit: 'ms',
    required: null,
    predicted: { value: settlingMs, std: null, note: 'of the lens as its datasheet describes it' },
    measured: null,
    verdict: 'meets',
    reason: `from ${slowest.fromPlane} to ${slowest.toPlane} (${inWords(Math.abs(slowest.stepDpt), 'dpt')}) the lens settles to ±${inWords(slowest.toleranceDpt, 'dpt', 2)} in ${inWords(settlingMs, 'ms')}${shapedInWords(slowest)}`,
    remedy: null,
    basis:
      'Second-order step response with dead time, exact last crossing, to a quarter of the depth of field’s half-width. Shaped: zero-vibration steps (Singer and Seering), two half a ringing period apart, or three.',
    spareFraction: Number.POSITIVE_INFINITY,
  };
}

function shapedInWords(move: Move): string {
  const shapedMs = quickestShapedMs(move);
  if (shapedMs === null) return '; it does not ring, so shaped commands gain nothing';
  if (move.plainMs === null || shapedMs > 0.95 * move.plainMs) return '; shaped commands would not be quicker';
  const steps = shapedMs === move.zeroVibrationMs ? 'two' : 'three';
  return `; a command shaped into ${steps} partial steps settles in ${inWords(shapedMs, 'ms')} instead`;
}

function cycleRow({ station, timing }: { station: Station; timing: Timing }): PlanRow {
  const { cycleMs: valueMs, settlingMs, plan } = timing;
  const planeCount = plan.moves.length;
  const allowedMs = station.task.cycleTimeMs;
  const row = {
    key: 'timing.cycle',
    title: 'Time for all planes of one part',
    unit: 'ms',
    basis:
      'Each plane: settling to a quarter of the depth of field’s half-width (second-order step response with dead time, exact last crossing), exposure, readout; the lens returns to the first plane.',
  };
  const required = { min: null, max: allowedMs };
  if (valueMs === null || settlingMs === null || planeCount === 0) {
    return {
      ...row,
      required,
      predicted: null,
      measured: null,
      verdict: 'unknown',
      reason: `${opening.unknown}${planeCount === 0 ? 'no plane can be focused' : 'the lens never settles'}`,
      remedy: 'see the rows on reach',
      spareFraction: Number.NEGATIVE_INFINITY,
    };
  }
  return comparedRow({
    ...row,
    value: valueMs,
    required,
    reason: `${planeCount} planes take ${inWords(valueMs, 'ms')}, the slowest move settles in ${inWords(settlingMs, 'ms')}; ${inWords(allowedMs, 'ms')} are allowed, enough for ${plan.planesPerCycleCount ?? 0} such planes`,
    remedy: () => cycleRemedy(station, plan, valueMs, settlingMs),
  });
}

function cycleRemedy(
  { task, parts, controls }: Station,
  { moves, shapedCycleMs }: TimingPlan,
  valueMs: number,
  settlingMs: number,
): string {
  if (shapedCycleMs !== null && shapedCycleMs < 0.95 * valueMs) {
    const shapedMs = Math.max(...moves.map((move) => quickestMs(move) ?? 0));
    const enough = shapedCycleMs <= task.cycleTimeMs ? '' : ', which alone is not enough';
    return `shape the commands where that is quicker (partial steps half a ringing period apart): ${inWords(shapedCycleMs, 'ms')}, as the slowest move then settles in ${inWords(shapedMs, 'ms')} instead of ${inWords(settlingMs, 'ms')}${enough}`;
  }
  const perPlaneMs = valueMs / moves.length;
  const fewer = Math.floor(task.cycleTimeMs / perPlaneMs);
  const imagingMs = controls.exposureMs + parts.sensor.readoutMs;
  if (fewer >= 1)
    return `plan ${fewer} planes, or shorten readout (${inWords(imagingMs, 'ms')} of exposure and readout per plane) by a region of interest`;
  return `shorten exposure and readout (${inWords(imagingMs, 'ms')} per plane), or allow ${inWords(valueMs, 'ms')} per part`;
}
