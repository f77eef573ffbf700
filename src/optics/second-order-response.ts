import { requireFinite, requireNotNegative, requirePositive, sFromMs } from '../base/index.js';

/** The tunable lens as a linear second-order system. */
export interface SecondOrderSystem {
  /** Undamped natural frequency ω_n / 2π. */
  naturalFrequencyHz: number;
  /** ζ: below 1 it rings, from 1 on it creeps. */
  dampingRatio: number;
}

/** Where the lens is, and how fast it moves. */
export interface SecondOrderState {
  powerDpt: number;
  rateDptPerS: number;
}

/** The lens at rest at a power. */
export const atRest = (powerDpt: number): SecondOrderState => ({ powerDpt, rateDptPerS: 0 });

/**
 * State of the lens after a time at a constant target.
 *
 * Model    linear, time-invariant: P'' + 2ζω·P' + ω²·(P − target) = 0
 * Formula  exact propagation by the system's exponential; stable for every damping ratio ≥ 0, 1 included
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    hysteresis, creep and limits of the drive are left out.
 * Source   linear-systems textbooks; LTI behaviour of tunable lenses: Opt. Express 27, 2085 (2019)
 * Checked  property: two steps equal one; reference: tests/optics/second-order-response.test.ts
 */
export function advanceSecondOrder({
  state,
  targetDpt,
  durationMs,
  naturalFrequencyHz,
  dampingRatio,
}: SecondOrderSystem & { state: SecondOrderState; targetDpt: number; durationMs: number }): SecondOrderState {
  const system = { naturalFrequencyHz, dampingRatio };
  requireSystem(system);
  requireState(state);
  requireFinite('targetDpt', targetDpt, 'dpt');
  requireNotNegative('durationMs', durationMs, 'ms');
  const omega = angularFrequency(system);
  const { cosine, sine } = decayingPair(omega, dampingRatio, sFromMs(durationMs));
  const off = state.powerDpt - targetDpt;
  const rate = state.rateDptPerS;
  const damping = dampingRatio * omega;
  return {
    powerDpt: targetDpt + (cosine + damping * sine) * off + sine * rate,
    rateDptPerS: -omega * omega * sine * off + (cosine - damping * sine) * rate,
  };
}

/**
 * The deviation of advanceSecondOrder from its target over time, in dpt: for roots, which ask often.
 *
 * Input    what advanceSecondOrder has checked; duration ≥ 0, not checked.
 */
export function deviationAfterMs({
  state,
  targetDpt,
  system,
}: {
  state: SecondOrderState;
  targetDpt: number;
  system: SecondOrderSystem;
}): (durationMs: number) => number {
  const omega = angularFrequency(system);
  const { dampingRatio } = system;
  const off = state.powerDpt - targetDpt;
  const bySine = dampingRatio * omega * off + state.rateDptPerS;
  return (durationMs) => {
    const { cosine, sine } = decayingPair(omega, dampingRatio, sFromMs(durationMs));
    return cosine * off + sine * bySine;
  };
}

/** A command: from this moment on, this target. */
export interface PowerCommand {
  atMs: number;
  targetDpt: number;
}

/**
 * Response of the lens, from rest, to a run of commands.
 *
 * Model    as advanceSecondOrder; each command takes effect `deadTimeMs` after it is given
 * Input    commands in order of time; sample times in any order, from the first command's clock.
 * Returns  focal power in dpt at each sample time.
 * Throws   RangeError naming the field, if one is out of its range or the commands are out of order.
 * Checked  closed form: one command equals the step response
 */
export function responseToCommands({
  startDpt,
  commands,
  sampleTimesMs,
  deadTimeMs,
  ...system
}: SecondOrderSystem & {
  startDpt: number;
  commands: readonly PowerCommand[];
  sampleTimesMs: readonly number[];
  deadTimeMs: number;
}): Float64Array {
  requireNotNegative('deadTimeMs', deadTimeMs, 'ms');
  const starts = [{ atMs: Number.NEGATIVE_INFINITY, targetDpt: startDpt, state: atRest(startDpt) }];
  for (const { atMs, targetDpt } of commands) {
    requireFinite('commands.atMs', atMs, 'ms');
    const last = starts.at(-1)!;
    const effectMs = atMs + deadTimeMs;
    if (effectMs < last.atMs)
      throw new RangeError(`commands.atMs is ${atMs} ms; allowed: ≥ ${last.atMs - deadTimeMs} ms, in order of time`);
    starts.push({ atMs: effectMs, targetDpt, state: stateAt(last, effectMs, system) });
  }
  return Float64Array.from(sampleTimesMs, (timeMs) => {
    requireFinite('sampleTimesMs', timeMs, 'ms');
    let segment = starts[0]!;
    for (const start of starts) if (start.atMs <= timeMs) segment = start;
    return stateAt(segment, timeMs, system).powerDpt;
  });
}

function stateAt(
  segment: PowerCommand & { state: SecondOrderState },
  timeMs: number,
  system: SecondOrderSystem,
): SecondOrderState {
  if (segment.atMs === Number.NEGATIVE_INFINITY) return segment.state;
  const { state, targetDpt } = segment;
  return advanceSecondOrder({ state, targetDpt, durationMs: timeMs - segment.atMs, ...system });
}

/**
 * Response to a unit step, from rest.
 *
 * Formula  1 − e^(−ζωt)·[cos ω_d·t + ζ/√(1 − ζ²)·sin ω_d·t], and its limits for ζ ≥ 1
 * Returns  0 before and at the end of the dead time; tends to 1.
 * Throws   RangeError naming the field, if one is out of its range.
 * Checked  closed form: undamped, critical and overdamped forms
 */
export function stepResponse({
  timeMs,
  deadTimeMs,
  ...system
}: SecondOrderSystem & { timeMs: number; deadTimeMs: number }): number {
  requireFinite('timeMs', timeMs, 'ms');
  requireNotNegative('deadTimeMs', deadTimeMs, 'ms');
  if (timeMs <= deadTimeMs) return 0;
  return advanceSecondOrder({ state: atRest(0), targetDpt: 1, durationMs: timeMs - deadTimeMs, ...system }).powerDpt;
}

/**
 * Overshoot of a step and when its peak comes.
 *
 * Formula  exp(−πζ/√(1 − ζ²)) at π/ω_d after the dead time
 * Returns  `overshoot` as a fraction of the step; 0 with `peakTimeMs` null from ζ = 1 on.
 * Throws   RangeError naming the field, if one is out of its range.
 * Checked  reference: 100 Hz, ζ 0.05 → 85.447 % at 5.006 ms
 */
export function stepOvershoot({ deadTimeMs, ...system }: SecondOrderSystem & { deadTimeMs: number }): {
  overshoot: number;
  peakTimeMs: number | null;
} {
  requireSystem(system);
  requireNotNegative('deadTimeMs', deadTimeMs, 'ms');
  const { dampingRatio } = system;
  if (dampingRatio >= 1) return { overshoot: 0, peakTimeMs: null };
  const root = Math.sqrt(1 - dampingRatio ** 2);
  return {
    overshoot: Math.exp((-Math.PI * dampingRatio) / root),
    peakTimeMs: deadTimeMs + (1000 * Math.PI) / (angularFrequency(system) * root),
  };
}

/** Throws RangeError naming the field of a system that is out of its range. */
export function requireSystem({ naturalFrequencyHz, dampingRatio }: SecondOrderSystem): void {
  requirePositive('naturalFrequencyHz', naturalFrequencyHz, 'Hz');
  requireNotNegative('dampingRatio', dampingRatio);
}

/** Throws RangeError naming the field of a state that is not finite. */
export function requireState({ powerDpt, rateDptPerS }: SecondOrderState): void {
  requireFinite('state.powerDpt', powerDpt, 'dpt');
  requireFinite('state.rateDptPerS', rateDptPerS, 'dpt/s');
}

/** ω_n in rad/s. */
export function angularFrequency({ naturalFrequencyHz }: SecondOrderSystem): number {
  return 2 * Math.PI * naturalFrequencyHz;
}

/**
 * e^(−ζωt)·cos(ω_d·t) and e^(−ζωt)·sin(ω_d·t)/ω_d, with their limits at and beyond critical damping, written so that
 * nothing overflows or cancels.
 */
function decayingPair(omega: number, dampingRatio: number, timeS: number): { cosine: number; sine: number } {
  if (dampingRatio < 1) {
    const decay = Math.exp(-dampingRatio * omega * timeS);
    const ringing = omega * Math.sqrt(1 - dampingRatio ** 2);
    return { cosine: decay * Math.cos(ringing * timeS), sine: (decay * Math.sin(ringing * timeS)) / ringing };
  }
  const spread = omega * Math.sqrt(dampingRatio ** 2 - 1);
  const slowRate = (omega * omega) / (dampingRatio * omega + spread);
  const slow = Math.exp(-slowRate * timeS);
  const fastOverSlow = Math.expm1(-2 * spread * timeS);
  return {
    cosine: slow * (1 + fastOverSlow / 2),
    sine: spread === 0 ? slow * timeS : (-slow * fastOverSlow) / (2 * spread),
  };
}
