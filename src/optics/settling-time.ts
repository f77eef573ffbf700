import { requireFinite, requireNotNegative, requireNumber, requirePositive } from '../base/index.js';
import { bracketedRoot } from './bracketed-root.js';
import {
  advanceSecondOrder,
  angularFrequency,
  atRest,
  deviationAfterMs,
  type PowerCommand,
  requireState,
  requireSystem,
  type SecondOrderState,
  type SecondOrderSystem,
} from './second-order-response.js';

/**
 * Time until a moving lens stays within a tolerance of its target for good.
 *
 * Model    as advanceSecondOrder, no further command
 * Formula  exact last crossing: the extremes of the deviation lie π/ω_d apart and shrink by e^(−πζ/√(1−ζ²)); the
 *          crossing follows the last extreme outside the tolerance
 * Returns  ms, 0 if it stays inside from the start; null if it never settles (no damping).
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    the last crossing jumps by half a period where an extreme just touches the tolerance: leave a margin.
 * Checked  reference: ω·t for ten damping ratios at 2 % and 5 %, tests/optics/settling-time.test.ts
 */
export function settlingTimeAfterMs({
  state,
  targetDpt,
  toleranceDpt,
  naturalFrequencyHz,
  dampingRatio,
}: SecondOrderSystem & { state: SecondOrderState; targetDpt: number; toleranceDpt: number }): number | null {
  const system = { naturalFrequencyHz, dampingRatio };
  requireSystem(system);
  requireState(state);
  requireFinite('targetDpt', targetDpt, 'dpt');
  requirePositive('toleranceDpt', toleranceDpt, 'dpt');
  const deviationAt = deviationAfterMs({ state, targetDpt, system });
  const firstExtremeMs = firstExtremeAfterMs(state, targetDpt, system);
  const firstExtremeDpt = firstExtremeMs === null ? 0 : Math.abs(deviationAt(firstExtremeMs));
  if (firstExtremeMs === null || firstExtremeDpt <= toleranceDpt) {
    if (Math.abs(state.powerDpt - targetDpt) <= toleranceDpt) return 0;
    return lastCrossingMs({ deviationAt, fromMs: 0, toMs: firstExtremeMs, toleranceDpt, system });
  }
  if (system.dampingRatio >= 1) {
    return lastCrossingMs({ deviationAt, fromMs: firstExtremeMs, toMs: null, toleranceDpt, system });
  }
  if (system.dampingRatio === 0) return null;
  const root = Math.sqrt(1 - system.dampingRatio ** 2);
  const halfPeriodMs = (1000 * Math.PI) / (angularFrequency(system) * root);
  const shrinkLog = (Math.PI * system.dampingRatio) / root;
  const lastOutside = Math.max(0, Math.ceil(Math.log(firstExtremeDpt / toleranceDpt) / shrinkLog) - 1);
  const fromMs = firstExtremeMs + lastOutside * halfPeriodMs;
  return lastCrossingMs({ deviationAt, fromMs, toMs: fromMs + halfPeriodMs, toleranceDpt, system });
}

/**
 * Settling time of a step from rest, to a fraction of the step.
 *
 * Formula  settlingTimeAfterMs from a unit step, plus the dead time
 * Returns  ms from the command; null if it never settles (no damping).
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    the rule 4/(ζω) is off by 30 % near ζ = 0.8; this is exact.
 * Checked  reference: ω·t for ten damping ratios at 2 % and 5 %, tests/optics/settling-time.test.ts
 */
export function stepSettlingTimeMs({
  fraction,
  deadTimeMs,
  naturalFrequencyHz,
  dampingRatio,
}: SecondOrderSystem & { fraction: number; deadTimeMs: number }): number | null {
  requireNumber('fraction', fraction, { above: 0, below: 1 });
  requireNotNegative('deadTimeMs', deadTimeMs, 'ms');
  const movingMs = settlingTimeAfterMs({
    state: atRest(0),
    targetDpt: 1,
    toleranceDpt: fraction,
    naturalFrequencyHz,
    dampingRatio,
  });
  return movingMs === null ? null : deadTimeMs + movingMs;
}

/**
 * The textbook's rule of thumb for settling of a step to 2 %, beside the exact stepSettlingTimeMs.
 *
 * Formula  `ruleMs` = 4 / (ζω);  `envelopeMs` = −ln(0.02·√(1 − ζ²)) / (ζω), after which the envelope of the ring stays
 *          within 2 % of the step
 * Returns  ms from the moment the lens starts to move; dead time not counted.
 * Throws   RangeError naming the field, if the frequency is not > 0 or the damping ratio not in (0, 1).
 * Trust    for first estimates only. The rule is conservative for small ζ and off by 30 % near ζ = 0.8; plans and
 *          procedures take the exact last crossing.
 * Source   control-systems textbooks (from memory; derived again)
 * Checked  reference: four systems, tests/optics/reference-values.test.ts
 */
export function roughSettlingTimeMs({ naturalFrequencyHz, dampingRatio }: SecondOrderSystem): {
  ruleMs: number;
  envelopeMs: number;
} {
  requireSystem({ naturalFrequencyHz, dampingRatio });
  requireNumber('dampingRatio', dampingRatio, { above: 0, below: 1 });
  const decayPerMs = (dampingRatio * angularFrequency({ naturalFrequencyHz, dampingRatio })) / 1000;
  return {
    ruleMs: 4 / decayPerMs,
    envelopeMs: -Math.log(0.02 * Math.sqrt(1 - dampingRatio ** 2)) / decayPerMs,
  };
}

/**
 * Time after the first of several commands until the lens stays within a tolerance of the last one's target.
 *
 * Model    from rest; a crossing before the last command takes effect counts as not settled
 * Returns  ms from the first command, ≥ the last command's effect; null if it never settles.
 * Throws   RangeError naming the field, if one is out of its range or the commands are empty or out of order.
 * Checked  property: a zero-vibration shaped step settles at its last impulse
 */
export function settlingTimeOfCommandsMs({
  startDpt,
  commands,
  toleranceDpt,
  deadTimeMs,
  naturalFrequencyHz,
  dampingRatio,
}: SecondOrderSystem & {
  startDpt: number;
  commands: readonly PowerCommand[];
  toleranceDpt: number;
  deadTimeMs: number;
}): number | null {
  requireNotNegative('deadTimeMs', deadTimeMs, 'ms');
  const first = commands[0];
  if (first === undefined) throw new RangeError('commands is empty; allowed: at least one');
  const system = { naturalFrequencyHz, dampingRatio };
  let state = atRest(startDpt);
  let command = first;
  for (const next of commands.slice(1)) {
    state = advanceSecondOrder({
      state,
      targetDpt: command.targetDpt,
      durationMs: next.atMs - command.atMs,
      ...system,
    });
    command = next;
  }
  const restMs = settlingTimeAfterMs({ state, targetDpt: command.targetDpt, toleranceDpt, ...system });
  return restMs === null ? null : command.atMs - first.atMs + deadTimeMs + restMs;
}

/** When the deviation first stands still, ≥ 0; null where it never does. */
function firstExtremeAfterMs(state: SecondOrderState, targetDpt: number, system: SecondOrderSystem): number | null {
  const omega = angularFrequency(system);
  const { dampingRatio } = system;
  const off = state.powerDpt - targetDpt;
  const rate = state.rateDptPerS;
  if (rate === 0) return off === 0 ? null : 0;
  // The rate is e^(−ζωt)·[rate·C(t) − pull·S(t)] with C, S as cos, sin/ω_d or their limits: zero where S/C = rate/pull.
  const pull = omega * omega * off + dampingRatio * omega * rate;
  if (dampingRatio < 1) {
    const ringing = omega * Math.sqrt(1 - dampingRatio ** 2);
    const phase = Math.atan2(ringing * rate, pull);
    return (1000 * (phase > 0 ? phase : phase + Math.PI)) / ringing;
  }
  const spread = omega * Math.sqrt(dampingRatio ** 2 - 1);
  if (pull === 0 || rate / pull <= 0 || (spread * rate) / pull >= 1) return null;
  return 1000 * (spread === 0 ? rate / pull : Math.atanh((spread * rate) / pull) / spread);
}

/** Where a deviation that falls from `fromMs` on (to an extreme at `toMs`, or to zero) comes inside the tolerance. */
function lastCrossingMs({
  deviationAt,
  fromMs,
  toMs,
  toleranceDpt,
  system,
}: {
  deviationAt: (timeMs: number) => number;
  fromMs: number;
  toMs: number | null;
  toleranceDpt: number;
  system: SecondOrderSystem;
}): number {
  const sign = Math.sign(deviationAt(fromMs));
  const excess = (timeMs: number) => sign * deviationAt(timeMs) - toleranceDpt;
  let end = toMs ?? fromMs + 1 / system.naturalFrequencyHz;
  while (toMs === null && excess(end) > 0) end = fromMs + 2 * (end - fromMs);
  const lowValue = excess(fromMs);
  if (lowValue <= 0) return fromMs;
  const tolerance = 1e-12 * (end - fromMs) + 1e-15;
  return bracketedRoot({ of: excess, low: fromMs, high: end, lowValue, tolerance });
}
