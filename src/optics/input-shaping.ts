import { requireFinite, requireNumber } from '../base/index.js';
import { angularFrequency, type PowerCommand, requireSystem, type SecondOrderSystem } from './second-order-response.js';

/** Share of the step that is commanded at a moment; the shares sum to 1. */
export interface ShaperImpulse {
  atMs: number;
  share: number;
}

/**
 * Zero-vibration shaper: two partial steps, half a ringing period apart, whose rings cancel.
 *
 * Formula  K = e^(−πζ/√(1 − ζ²));  shares [1, K]/(1 + K) at 0 and π/ω_d
 * Throws   RangeError naming the field, if one is out of its range, or ζ ≥ 1 (nothing rings).
 * Trust    at 10 % wrong natural frequency about 14 % of the ring stays: see residualVibration.
 * Source   Singer & Seering (from memory; derived again)
 * Checked  reference: four systems, tests/optics/input-shaping.test.ts
 */
export function zeroVibrationShaper(system: SecondOrderSystem): ShaperImpulse[] {
  const { decay, halfPeriodMs } = halfRing(system);
  return [
    { atMs: 0, share: 1 / (1 + decay) },
    { atMs: halfPeriodMs, share: decay / (1 + decay) },
  ];
}

/**
 * Zero-vibration-and-derivative shaper: three partial steps, twice as long as zeroVibrationShaper and far less
 * touched by a wrong natural frequency.
 *
 * Formula  shares [1, 2K, K²]/(1 + K)² at 0, π/ω_d, 2π/ω_d
 * Throws   RangeError naming the field, if one is out of its range, or ζ ≥ 1 (nothing rings).
 * Source   Singer & Seering (from memory; derived again)
 * Checked  reference: four systems, tests/optics/input-shaping.test.ts
 */
export function zeroVibrationDerivativeShaper(system: SecondOrderSystem): ShaperImpulse[] {
  const { decay, halfPeriodMs } = halfRing(system);
  const sum = (1 + decay) ** 2;
  return [
    { atMs: 0, share: 1 / sum },
    { atMs: halfPeriodMs, share: (2 * decay) / sum },
    { atMs: 2 * halfPeriodMs, share: decay ** 2 / sum },
  ];
}

/**
 * Ringing left after the last impulse, relative to that of a unit impulse.
 *
 * Formula  V = e^(−ζω·t_n)·√(C² + S²), C = Σ A_i·e^(ζω·t_i)·cos(ω_d·t_i), S with sin
 * Input    the real system, which may differ from the one that the shaper was made for.
 * Throws   RangeError naming the field, if one is out of its range, ζ ≥ 1, or there are no impulses.
 * Source   Newman, Hong & Vaughan, ASME J. Dyn. Syst. Meas. Control 140, 101005 (2018)
 * Checked  reference: robustness table, tests/optics/input-shaping.test.ts
 */
export function residualVibration({
  impulses,
  ...system
}: SecondOrderSystem & { impulses: readonly ShaperImpulse[] }): number {
  requireRinging(system);
  const last = impulses.at(-1);
  if (last === undefined) throw new RangeError('impulses is empty; allowed: at least one');
  const damping = system.dampingRatio * angularFrequency(system);
  const ringing = angularFrequency(system) * Math.sqrt(1 - system.dampingRatio ** 2);
  let cosine = 0;
  let sine = 0;
  for (const { atMs, share } of impulses) {
    const weight = share * Math.exp((damping * (atMs - last.atMs)) / 1000);
    cosine += weight * Math.cos((ringing * atMs) / 1000);
    sine += weight * Math.sin((ringing * atMs) / 1000);
  }
  return Math.hypot(cosine, sine);
}

/**
 * A step as the run of commands that a shaper makes of it.
 *
 * Formula  target_k = start + (target − start)·Σ_{i ≤ k} A_i
 * Throws   RangeError naming the field, if a power or time is not finite.
 * Trust    a controller that steps coarser than the shortest gap spoils the shaping.
 */
export function shapedStep({
  startDpt,
  targetDpt,
  startMs,
  impulses,
}: {
  startDpt: number;
  targetDpt: number;
  startMs: number;
  impulses: readonly ShaperImpulse[];
}): PowerCommand[] {
  requireFinite('startDpt', startDpt, 'dpt');
  requireFinite('targetDpt', targetDpt, 'dpt');
  requireFinite('startMs', startMs, 'ms');
  let commanded = 0;
  return impulses.map(({ atMs, share }, index) => {
    commanded += share;
    const isLast = index === impulses.length - 1;
    return { atMs: startMs + atMs, targetDpt: isLast ? targetDpt : startDpt + (targetDpt - startDpt) * commanded };
  });
}

function halfRing(system: SecondOrderSystem): { decay: number; halfPeriodMs: number } {
  requireRinging(system);
  const root = Math.sqrt(1 - system.dampingRatio ** 2);
  return {
    decay: Math.exp((-Math.PI * system.dampingRatio) / root),
    halfPeriodMs: (1000 * Math.PI) / (angularFrequency(system) * root),
  };
}

function requireRinging(system: SecondOrderSystem): void {
  requireSystem(system);
  requireNumber('dampingRatio', system.dampingRatio, { min: 0, below: 1 });
}
