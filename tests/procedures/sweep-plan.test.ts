import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planSweep } from '../../src/procedures/sweep/plan.js';
import { settlingWaitMs } from '../../src/procedures/sweep/settling-wait.js';
import { sensorNoiseStdDn } from '../../src/station/index.js';
import { glazeStation } from './glaze-station.js';

const any = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };

describe('sweep plan', () => {
  it('closed form: five steps of 0.2 dpt from 0 to 1, approached from below after an overshoot', () => {
    const plan = planSweep({
      lowDpt: 0,
      highDpt: 1,
      stepDpt: 0.2,
      overshootDpt: 0.1,
      approachFrom: 'below',
      available: any,
    });
    expect(plan.approachDpt).toBeCloseTo(-0.1, 12);
    expect(plan.powersDpt.map((p) => Number(p.toFixed(9)))).toEqual([0, 0.2, 0.4, 0.6, 0.8, 1]);
  });

  it('closed form: from above the powers fall and the overshoot lies beyond the highest', () => {
    const plan = planSweep({
      lowDpt: 0,
      highDpt: 1,
      stepDpt: 0.5,
      overshootDpt: 0.1,
      approachFrom: 'above',
      available: any,
    });
    expect(plan).toEqual({ approachDpt: 1.1, powersDpt: [1, 0.5, 0] });
  });

  it('degenerate: rounding does not carry the last power past the limit', () => {
    const lowDpt = -0.0000011316240351444407;
    const plan = planSweep({
      lowDpt,
      highDpt: 3,
      stepDpt: 0.03333334590656335,
      overshootDpt: 0,
      approachFrom: 'below',
      available: { powerMinDpt: -5, powerMaxDpt: 3, powersDpt: null },
    });
    expect(Math.max(...plan.powersDpt)).toBe(3);
  });

  it('property: every power and the overshoot lie inside what is available, monotone, no step wider than asked', () => {
    const power = fc.double({ min: -5, max: 5, noNaN: true });
    fc.assert(
      fc.property(
        power,
        power,
        fc.double({ min: 0.01, max: 2, noNaN: true }),
        fc.constantFrom('below', 'above'),
        (a, b, stepDpt, from) => {
          const [lowDpt, highDpt] = [Math.min(a, b), Math.max(a, b)];
          const plan = planSweep({ lowDpt, highDpt, stepDpt, overshootDpt: 0.1, approachFrom: from, available: any });
          const all = plan.approachDpt === null ? plan.powersDpt : [plan.approachDpt, ...plan.powersDpt];
          all.forEach((p, i) => {
            expect(p).toBeGreaterThanOrEqual(-2);
            expect(p).toBeLessThanOrEqual(3);
            if (i === 0) return;
            const step = (p - all[i - 1]!) * (from === 'below' ? 1 : -1);
            expect(step).toBeGreaterThanOrEqual(0);
            if (i > 1) expect(step).toBeLessThanOrEqual(stepDpt + 1e-9);
          });
        },
      ),
    );
  });

  it('closed form: only recorded powers, each once, nearest to the grid', () => {
    const available = { powerMinDpt: 0, powerMaxDpt: 1, powersDpt: [0, 0.1, 0.35, 0.4, 0.8, 1] };
    const plan = planSweep({
      lowDpt: 0,
      highDpt: 1,
      stepDpt: 0.25,
      overshootDpt: 0.1,
      approachFrom: 'below',
      available,
    });
    expect(plan).toEqual({ approachDpt: null, powersDpt: [0, 0.35, 0.4, 0.8, 1] });
  });

  it('degenerate: one power, and a range outside the limits', () => {
    const at = { stepDpt: 0.1, overshootDpt: 0, approachFrom: 'below', available: any } as const;
    expect(planSweep({ ...at, lowDpt: 1, highDpt: 1 })).toEqual({ approachDpt: null, powersDpt: [1] });
    expect(planSweep({ ...at, lowDpt: 4, highDpt: 5 }).powersDpt).toEqual([]);
  });

  it('refuses a step of 0 and a range upside down', () => {
    const at = { overshootDpt: 0, approachFrom: 'below', available: any } as const;
    expect(() => planSweep({ ...at, lowDpt: 0, highDpt: 1, stepDpt: 0 })).toThrow(/stepDpt is 0 dpt/);
    expect(() => planSweep({ ...at, lowDpt: 1, highDpt: 0, stepDpt: 0.1 })).toThrow(
      /lowDpt is 1 dpt; allowed: .* ≤ 0 dpt/,
    );
  });
});

describe('waiting for the lens', () => {
  const station = glazeStation();

  it('reference: damping 0.6, 2 % of the step: ω·t = 5.9430 (table of second-order settling), plus the dead time', () => {
    const omegaPerMs = (2 * Math.PI * 90) / 1000;
    expect(settlingWaitMs({ station, stepDpt: 1, toleranceDpt: 0.02 })).toBeCloseTo(5.943 / omegaPerMs + 2, 2);
  });

  it('property: a larger step of either sign never waits less', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.001, max: 5, noNaN: true }),
        fc.double({ min: 1, max: 3, noNaN: true }),
        (stepDpt, factor) => {
          const small = settlingWaitMs({ station, stepDpt, toleranceDpt: 0.01 });
          expect(settlingWaitMs({ station, stepDpt: -stepDpt * factor, toleranceDpt: 0.01 })).toBeGreaterThanOrEqual(
            small - 1e-9,
          );
        },
      ),
    );
  });

  it('degenerate: a step within the tolerance waits for the dead time only', () => {
    expect(settlingWaitMs({ station, stepDpt: 0.005, toleranceDpt: 0.01 })).toBe(2);
    expect(settlingWaitMs({ station, stepDpt: 0, toleranceDpt: 0.01 })).toBe(2);
  });
});

describe('sensor noise', () => {
  it('closed form: K 0.02, 8 e dark noise, 102 DN: √(0.16² + 0.02·100 + 1/12)', () => {
    const { sensor } = glazeStation().parts;
    const expected = Math.sqrt(0.0256 + 2 + 1 / 12);
    expect(sensorNoiseStdDn({ sensor, greyDn: 102, bitDepth: 8 })).toBeCloseTo(expected, 12);
  });

  it('closed form: the same camera at 12 bit has sixteen times the noise, but for rounding', () => {
    const { sensor } = glazeStation().parts;
    const in8 = sensorNoiseStdDn({ sensor, greyDn: 102, bitDepth: 8 }) ** 2 - 1 / 12;
    const in12 = sensorNoiseStdDn({ sensor, greyDn: 102 * 16, bitDepth: 12 }) ** 2 - 1 / 12;
    expect(in12 / in8).toBeCloseTo(256, 6);
  });
});
