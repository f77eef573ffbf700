import { describe, expect, it } from 'vitest';
import {
  residualVibration,
  responseToCommands,
  shapedStep,
  zeroVibrationDerivativeShaper,
  zeroVibrationShaper,
} from '../../src/optics/index.js';

describe('input shaping', () => {
  // Shapers of Singer & Seering (from memory, derived again); values computed.
  it.each([
    [100, 0.05, [0.539238, 0.460762], 5.006262, [0.290778, 0.496921, 0.212301], 10.012523],
    [85, 0.1, [0.578286, 0.421714], 5.911987, [0.334415, 0.487743, 0.177843], 11.823974],
    [60, 0.2, [0.655042, 0.344958], 8.505173, [0.429079, 0.451924, 0.118996], 17.010345],
    [200, 0.02, [0.515706, 0.484294], 2.5005, [0.265953, 0.499507, 0.234541], 5.001],
  ])('reference: shapers for %d Hz, ζ %d', (naturalFrequencyHz, dampingRatio, zv, t2Ms, zvd, t3Ms) => {
    const system = { naturalFrequencyHz, dampingRatio };
    const two = zeroVibrationShaper(system);
    const three = zeroVibrationDerivativeShaper(system);
    two.forEach(({ share }, i) => {
      expect(share).toBeCloseTo(zv[i]!, 6);
    });
    three.forEach(({ share }, i) => {
      expect(share).toBeCloseTo(zvd[i]!, 6);
    });
    expect(two[1]!.atMs).toBeCloseTo(t2Ms, 6);
    expect(three[2]!.atMs).toBeCloseTo(t3Ms, 6);
  });

  // Formula published: Newman, Hong & Vaughan 2018; values computed.
  it.each([
    [0, 0, 0],
    [0.05, 0.07211, 0.0052],
    [0.1, 0.14321, 0.02051],
    [-0.1, 0.14548, 0.02116],
    [0.2, 0.28069, 0.07878],
  ])('reference: residual vibration with the frequency off by %d', (off, zv, zvd) => {
    const system = { naturalFrequencyHz: 100, dampingRatio: 0.05 };
    const real = { naturalFrequencyHz: 100 * (1 + off), dampingRatio: 0.05 };
    expect(residualVibration({ ...real, impulses: zeroVibrationShaper(system) })).toBeCloseTo(zv, 5);
    expect(residualVibration({ ...real, impulses: zeroVibrationDerivativeShaper(system) })).toBeCloseTo(zvd, 5);
  });

  it('closed form: one impulse leaves the whole ring', () => {
    const impulses = [{ atMs: 0, share: 1 }];
    expect(residualVibration({ naturalFrequencyHz: 100, dampingRatio: 0.05, impulses })).toBeCloseTo(1, 12);
  });

  it('property: a shaped step stands still after its last impulse', () => {
    const system = { naturalFrequencyHz: 100, dampingRatio: 0.05 };
    for (const shaper of [zeroVibrationShaper, zeroVibrationDerivativeShaper]) {
      const impulses = shaper(system);
      const commands = shapedStep({ startDpt: 1, targetDpt: 3, startMs: 0, impulses });
      const endMs = impulses.at(-1)!.atMs;
      const sampleTimesMs = [endMs, endMs + 1, endMs + 2.5, endMs + 30];
      const response = responseToCommands({ ...system, startDpt: 1, commands, sampleTimesMs, deadTimeMs: 0 });
      for (const powerDpt of response) expect(powerDpt).toBeCloseTo(3, 12);
    }
  });

  it('refuses a lens that does not ring, and no impulses', () => {
    expect(() => zeroVibrationShaper({ naturalFrequencyHz: 100, dampingRatio: 1 })).toThrow(
      /dampingRatio is 1; allowed: .*< 1/,
    );
    expect(() => residualVibration({ naturalFrequencyHz: 100, dampingRatio: 0.1, impulses: [] })).toThrow(
      /impulses is empty/,
    );
    expect(() => shapedStep({ startDpt: 0, targetDpt: Number.NaN, startMs: 0, impulses: [] })).toThrow(
      /targetDpt is NaN/,
    );
  });
});
