import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  advanceSecondOrder,
  atRest,
  deviationAfterMs,
  responseToCommands,
  stepOvershoot,
  stepResponse,
} from '../../src/optics/index.js';

const natural = { naturalFrequencyHz: 100 };
const omegaPerMs = (2 * Math.PI * 100) / 1000;

describe('second-order response', () => {
  // Formulas from memory of linear-systems texts; values computed.
  it.each([
    [100, 0.05, 85.447],
    [85, 0.1, 72.925],
    [60, 0.2, 52.662],
    [200, 0.02, 93.909],
  ])('reference: overshoot of %d Hz at ζ %d is %d %', (naturalFrequencyHz, dampingRatio, percent) => {
    const { overshoot, peakTimeMs } = stepOvershoot({ naturalFrequencyHz, dampingRatio, deadTimeMs: 2 });
    expect(100 * overshoot).toBeCloseTo(percent, 3);
    const peak = stepResponse({ naturalFrequencyHz, dampingRatio, deadTimeMs: 2, timeMs: peakTimeMs! });
    expect(peak).toBeCloseTo(1 + overshoot, 12);
  });

  it.each([0, 0.05, 0.3, 0.7, 0.99])('closed form: step with ζ = %d', (dampingRatio) => {
    const root = Math.sqrt(1 - dampingRatio ** 2);
    for (const timeMs of [0, 0.3, 2, 7, 20]) {
      const x = omegaPerMs * timeMs;
      const expected =
        1 - Math.exp(-dampingRatio * x) * (Math.cos(root * x) + (dampingRatio / root) * Math.sin(root * x));
      expect(stepResponse({ ...natural, dampingRatio, deadTimeMs: 0, timeMs })).toBeCloseTo(expected, 12);
    }
  });

  it('closed form: critical damping, 1 − (1 + ωt)·e^(−ωt)', () => {
    for (const timeMs of [0.5, 3, 12]) {
      const x = omegaPerMs * timeMs;
      const expected = 1 - (1 + x) * Math.exp(-x);
      expect(stepResponse({ ...natural, dampingRatio: 1, deadTimeMs: 0, timeMs })).toBeCloseTo(expected, 13);
    }
  });

  it('closed form: overdamped as two exponentials; a very large ζ stays finite', () => {
    const root = Math.sqrt(4 - 1);
    for (const timeMs of [0.5, 3, 12]) {
      const [slow, fast] = [(2 - root) * omegaPerMs, (2 + root) * omegaPerMs];
      const expected = 1 - (fast * Math.exp(-slow * timeMs) - slow * Math.exp(-fast * timeMs)) / (fast - slow);
      expect(stepResponse({ ...natural, dampingRatio: 2, deadTimeMs: 0, timeMs })).toBeCloseTo(expected, 12);
    }
    expect(stepResponse({ ...natural, dampingRatio: 1e5, deadTimeMs: 0, timeMs: 1e5 })).toBeCloseTo(
      1 - Math.exp(-omegaPerMs / 2),
      6,
    );
  });

  it('property: continuous through ζ = 1', () => {
    const at = (dampingRatio: number) => stepResponse({ ...natural, dampingRatio, deadTimeMs: 0, timeMs: 4 });
    for (const step of [1e-4, 1e-7, 1e-10, 1e-15]) {
      expect(Math.abs(at(1 + step) - at(1))).toBeLessThan(2 * step + 1e-13);
      expect(Math.abs(at(1 - step) - at(1))).toBeLessThan(2 * step + 1e-13);
    }
  });

  it('property: two steps in time are one, for every damping', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 3, noNaN: true }),
        fc.double({ min: 0, max: 30, noNaN: true }),
        fc.double({ min: 0, max: 30, noNaN: true }),
        fc.double({ min: -500, max: 500, noNaN: true }),
        (dampingRatio, firstMs, secondMs, rateDptPerS) => {
          const system = { ...natural, dampingRatio, targetDpt: 1.5 };
          const start = { powerDpt: -1, rateDptPerS };
          const middle = advanceSecondOrder({ ...system, state: start, durationMs: firstMs });
          const twice = advanceSecondOrder({ ...system, state: middle, durationMs: secondMs });
          const once = advanceSecondOrder({ ...system, state: start, durationMs: firstMs + secondMs });
          expect(twice.powerDpt).toBeCloseTo(once.powerDpt, 8);
          expect(twice.rateDptPerS).toBeCloseTo(once.rateDptPerS, 5);
        },
      ),
    );
  });

  it('reference: fourth-order Runge–Kutta integration of the differential equation', () => {
    const system = { naturalFrequencyHz: 80, dampingRatio: 0.15 };
    const omega = 2 * Math.PI * 80;
    const accelerate = (p: number, v: number) => -2 * 0.15 * omega * v - omega ** 2 * (p - 2);
    let [p, v] = [0.5, 40];
    const h = 1e-5;
    for (let i = 0; i < 1000; i++) {
      const [a1, v1] = [accelerate(p, v), v];
      const [a2, v2] = [accelerate(p + (h / 2) * v1, v + (h / 2) * a1), v + (h / 2) * a1];
      const [a3, v3] = [accelerate(p + (h / 2) * v2, v + (h / 2) * a2), v + (h / 2) * a2];
      const [a4, v4] = [accelerate(p + h * v3, v + h * a3), v + h * a3];
      p += (h / 6) * (v1 + 2 * v2 + 2 * v3 + v4);
      v += (h / 6) * (a1 + 2 * a2 + 2 * a3 + a4);
    }
    const state = advanceSecondOrder({
      ...system,
      state: { powerDpt: 0.5, rateDptPerS: 40 },
      targetDpt: 2,
      durationMs: 10,
    });
    expect(state.powerDpt).toBeCloseTo(p, 9);
    expect(state.rateDptPerS).toBeCloseTo(v, 6);
  });

  it('closed form: commands superpose; before the dead time nothing moves', () => {
    const system = { ...natural, dampingRatio: 0.1, deadTimeMs: 1.5 };
    const commands = [
      { atMs: 0, targetDpt: 2 },
      { atMs: 4, targetDpt: 1 },
    ];
    const sampleTimesMs = [-1, 1.4, 3, 9, 5.5, 40];
    const response = responseToCommands({ ...system, startDpt: 0.5, commands, sampleTimesMs });
    sampleTimesMs.forEach((timeMs, i) => {
      const expected =
        0.5 + 1.5 * stepResponse({ ...system, timeMs }) - 1 * stepResponse({ ...system, timeMs: timeMs - 4 });
      expect(response[i]).toBeCloseTo(expected, 12);
    });
    expect(response[0]).toBe(0.5);
  });

  it('degenerate: at rest on its target the lens stays; without damping it swings between 0 and 2', () => {
    const stay = advanceSecondOrder({ ...natural, dampingRatio: 0.1, state: atRest(3), targetDpt: 3, durationMs: 50 });
    expect(stay).toEqual({ powerDpt: 3, rateDptPerS: 0 });
    const undamped = stepOvershoot({ ...natural, dampingRatio: 0, deadTimeMs: 0 });
    expect(undamped.overshoot).toBe(1);
    expect(undamped.peakTimeMs).toBeCloseTo(5, 12);
    expect(stepOvershoot({ ...natural, dampingRatio: 1, deadTimeMs: 0 })).toEqual({ overshoot: 0, peakTimeMs: null });
    expect(
      responseToCommands({
        ...natural,
        dampingRatio: 1,
        deadTimeMs: 0,
        startDpt: 2,
        commands: [],
        sampleTimesMs: [5],
      })[0],
    ).toBe(2);
  });

  it('refuses negative damping, time backwards and commands out of order', () => {
    const state = atRest(0);
    expect(() => advanceSecondOrder({ ...natural, dampingRatio: -0.1, state, targetDpt: 1, durationMs: 1 })).toThrow(
      /dampingRatio/,
    );
    expect(() => advanceSecondOrder({ ...natural, dampingRatio: 0.1, state, targetDpt: 1, durationMs: -1 })).toThrow(
      /durationMs/,
    );
    expect(() => stepResponse({ naturalFrequencyHz: 0, dampingRatio: 1, deadTimeMs: 0, timeMs: 1 })).toThrow(
      /naturalFrequencyHz/,
    );
    const commands = [
      { atMs: 4, targetDpt: 2 },
      { atMs: 3, targetDpt: 1 },
    ];
    expect(() =>
      responseToCommands({ ...natural, dampingRatio: 1, deadTimeMs: 1, startDpt: 0, commands, sampleTimesMs: [] }),
    ).toThrow(/commands.atMs is 3 ms; allowed: ≥ 4 ms/);
  });
});

describe('deviation over time', () => {
  it.each([0, 0.05, 0.6, 1, 1.7])('property: equals the state propagated, ζ %d', (dampingRatio) => {
    const system = { naturalFrequencyHz: 90, dampingRatio };
    const state = { powerDpt: 0.3, rateDptPerS: -40 };
    const deviationAt = deviationAfterMs({ state, targetDpt: 1.1, system });
    for (const durationMs of [0, 0.4, 3, 17, 90]) {
      const { powerDpt } = advanceSecondOrder({ state, targetDpt: 1.1, durationMs, ...system });
      expect(deviationAt(durationMs)).toBeCloseTo(powerDpt - 1.1, 13);
    }
  });
});
