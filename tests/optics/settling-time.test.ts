import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  advanceSecondOrder,
  atRest,
  settlingTimeAfterMs,
  settlingTimeOfCommandsMs,
  shapedStep,
  stepSettlingTimeMs,
  zeroVibrationShaper,
} from '../../src/optics/index.js';

/** ω = 1 per ms, so that times are ω·t. */
const unit = { naturalFrequencyHz: 1000 / (2 * Math.PI) };

describe('settling time', () => {
  // Computed on a time grid, good to 5e-4.
  it.each([
    [0.05, 76.0098, 59.8878],
    [0.1, 38.3835, 28.968],
    [0.2, 19.602, 13.7445],
    [0.3, 11.2301, 10.1371],
    [0.5, 8.0764, 5.2891],
    [0.6, 5.943, 5.229],
    [0.7, 5.9788, 2.8998],
    // biome-ignore lint/suspicious/noApproximativeNumericConstant: the table says 0.707, not √½
    [0.707, 5.9629, 2.9294],
    [0.8, 3.7558, 3.3854],
    [0.9, 4.6996, 4.0144],
  ])('reference: ω·t at ζ = %d to 2 % and 5 %', (dampingRatio, two, five) => {
    const at = (fraction: number) => stepSettlingTimeMs({ ...unit, dampingRatio, fraction, deadTimeMs: 0 })!;
    expect(Math.abs(at(0.02) - two)).toBeLessThan(6e-4);
    expect(Math.abs(at(0.05) - five)).toBeLessThan(6e-4);
  });

  it('reference: the finer value 76.00942 for ζ 0.05 at 2 %, and the dead time on top', () => {
    const system = { ...unit, dampingRatio: 0.05, fraction: 0.02 };
    expect(stepSettlingTimeMs({ ...system, deadTimeMs: 0 })).toBeCloseTo(76.00942, 5);
    expect(stepSettlingTimeMs({ ...system, deadTimeMs: 3 })).toBeCloseTo(79.00942, 5);
  });

  it('closed form: critically damped to 2 %: (1 + x)·e^(−x) = 0.02', () => {
    const x = stepSettlingTimeMs({ ...unit, dampingRatio: 1, fraction: 0.02, deadTimeMs: 0 })!;
    expect((1 + x) * Math.exp(-x)).toBeCloseTo(0.02, 12);
  });

  it('property: at the settling time the deviation is the tolerance, and never more afterwards', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 4, noNaN: true }),
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: -3000, max: 3000, noNaN: true }),
        fc.double({ min: 0.001, max: 0.3, noNaN: true }),
        (dampingRatio, powerDpt, rateDptPerS, toleranceDpt) => {
          const system = { ...unit, dampingRatio };
          const state = { powerDpt, rateDptPerS };
          const settledMs = settlingTimeAfterMs({ ...system, state, targetDpt: 0, toleranceDpt })!;
          const off = (durationMs: number) =>
            Math.abs(advanceSecondOrder({ ...system, state, targetDpt: 0, durationMs }).powerDpt);
          if (settledMs > 0) expect(off(settledMs)).toBeCloseTo(toleranceDpt, 6);
          for (let i = 0; i <= 200; i++) expect(off(settledMs + i * 0.1)).toBeLessThanOrEqual(toleranceDpt + 1e-6);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('property: a zero-vibration shaped step has settled at its last impulse, a plain one long after', () => {
    const system = { naturalFrequencyHz: 100, dampingRatio: 0.05 };
    const impulses = zeroVibrationShaper(system);
    const commands = shapedStep({ startDpt: 0, targetDpt: 2, startMs: 10, impulses });
    const request = { ...system, startDpt: 0, toleranceDpt: 0.001, deadTimeMs: 1 };
    expect(settlingTimeOfCommandsMs({ ...request, commands })).toBeCloseTo(1 + impulses[1]!.atMs, 9);
    const plain = settlingTimeOfCommandsMs({ ...request, commands: [{ atMs: 10, targetDpt: 2 }] })!;
    expect(plain).toBeCloseTo(stepSettlingTimeMs({ ...system, fraction: 0.0005, deadTimeMs: 1 })!, 9);
    expect(plain).toBeGreaterThan(200);
  });

  it('degenerate: without damping it never settles; already inside it has', () => {
    expect(stepSettlingTimeMs({ ...unit, dampingRatio: 0, fraction: 0.02, deadTimeMs: 0 })).toBeNull();
    const inside = { ...unit, dampingRatio: 0, state: atRest(0.001), targetDpt: 0, toleranceDpt: 0.01 };
    expect(settlingTimeAfterMs(inside)).toBe(0);
    expect(settlingTimeAfterMs({ ...inside, dampingRatio: 1, state: atRest(0) })).toBe(0);
  });

  it('degenerate: inside the tolerance but moving fast it leaves and comes back', () => {
    const state = { powerDpt: 0, rateDptPerS: 1000 };
    expect(settlingTimeAfterMs({ ...unit, dampingRatio: 1, state, targetDpt: 0, toleranceDpt: 0.05 })).toBeGreaterThan(
      1,
    );
    // Critically damped, started so that it creeps in without an extreme.
    const creeping = { powerDpt: 1, rateDptPerS: -1000 };
    const settledMs = settlingTimeAfterMs({
      ...unit,
      dampingRatio: 1,
      state: creeping,
      targetDpt: 0,
      toleranceDpt: 0.05,
    })!;
    expect(Math.exp(-settledMs)).toBeCloseTo(0.05, 9);
  });

  it('refuses a tolerance of nothing and no commands', () => {
    expect(() => stepSettlingTimeMs({ ...unit, dampingRatio: 0.1, fraction: 0, deadTimeMs: 0 })).toThrow(
      /fraction is 0/,
    );
    expect(() =>
      settlingTimeAfterMs({ ...unit, dampingRatio: 0.1, state: atRest(0), targetDpt: 1, toleranceDpt: 0 }),
    ).toThrow(/toleranceDpt is 0/);
    expect(() =>
      settlingTimeOfCommandsMs({
        ...unit,
        dampingRatio: 0.1,
        startDpt: 0,
        commands: [],
        toleranceDpt: 0.1,
        deadTimeMs: 0,
      }),
    ).toThrow(/commands is empty/);
  });
});
