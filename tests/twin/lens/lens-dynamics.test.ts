import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { noBuildErrors } from '../../../src/twin/index.js';
import { lensDynamics } from '../../../src/twin/lens/lens-dynamics.js';
import { smallStation } from '../small-station.js';

const datasheet = { ...smallStation.parts.tunableLens, naturalFrequencyHz: 100, dampingRatio: 0.05, deadTimeMs: 3 };

function lensWith(
  errors: Partial<ReturnType<typeof noBuildErrors>> = {},
  { temperatureDegC = datasheet.referenceTemperatureDegC, slowingRatio = 1, controlStepDpt = 0 } = {},
) {
  return lensDynamics({
    lens: { ...datasheet, controlStepDpt },
    errors: { ...noBuildErrors(), ...errors },
    random: seededRandom(5),
    temperatureAt: () => temperatureDegC,
    startDpt: 0,
    slowingRatio,
  });
}

const at = (lens: ReturnType<typeof lensWith>, timeMs: number) =>
  lens.truePowersDpt({ fromMs: timeMs, untilMs: timeMs, count: 1 })[0]!;

describe('lens dynamics', () => {
  it('closed form: the step after the dead time is 1 − e^(−ζωt)(cos ω_d t + ζ/√(1−ζ²) sin ω_d t)', () => {
    const lens = lensWith();
    lens.command({ timeMs: 10, focalPowerDpt: 2 });
    const omega = 2 * Math.PI * 100;
    const ringing = omega * Math.sqrt(1 - 0.05 ** 2);
    expect(at(lens, 12.9)).toBe(0);
    for (const timeMs of [14, 18.0063, 21.5, 40, 120]) {
      const t = (timeMs - 13) / 1000;
      const decay = Math.exp(-0.05 * omega * t);
      const step = 1 - decay * (Math.cos(ringing * t) + (0.05 / Math.sqrt(1 - 0.05 ** 2)) * Math.sin(ringing * t));
      expect(at(lens, timeMs)).toBeCloseTo(2 * step, 9);
    }
  });

  it('reference: the overshoot of 100 Hz and ζ 0.05 is 85.447 %, 5.006 ms after the dead time', () => {
    const lens = lensWith();
    lens.command({ timeMs: 0, focalPowerDpt: 1 });
    const path = lens.truePowersDpt({ fromMs: 0, untilMs: 20, count: 20_000 });
    const peak = path.reduce((best, value, i) => (value > path[best]! ? i : best), 0);
    expect(path[peak]).toBeCloseTo(1.85447, 5);
    expect((peak + 0.5) / 1000).toBeCloseTo(3 + 5.006262, 2);
  });

  it('property: a path in many parts is the same as in one look at each time', () => {
    const command = { timeMs: 1, focalPowerDpt: 1.5 };
    const a = lensWith();
    const b = lensWith();
    a.command(command);
    b.command(command);
    const path = a.truePowersDpt({ fromMs: 2, untilMs: 12, count: 5 });
    for (let i = 0; i < 5; i++) expect(at(b, 3 + 2 * i)).toBeCloseTo(path[i]!, 12);
  });

  it('closed form: a power approached from below lies the hysteresis width under the same from above', () => {
    const settledAt = (before: number) => {
      const lens = lensWith({ hysteresisDpt: 0.04 });
      lens.command({ timeMs: 0, focalPowerDpt: before });
      lens.command({ timeMs: 1000, focalPowerDpt: 1 });
      return at(lens, 9000);
    };
    expect(settledAt(-1)).toBeCloseTo(0.98, 9);
    expect(settledAt(2.5)).toBeCloseTo(1.02, 9);
  });

  it('closed form: gain, offset, temperature and drift add up as P = g·P_cmd + offset + k·ΔT + drift·t', () => {
    const errors = {
      lensGain: 1.02,
      lensOffsetDpt: -0.05,
      temperatureCoefficientDptPerDegC: 0.004,
      driftDptPerS: 1e-4,
    };
    const lens = lensWith(errors, { temperatureDegC: 35 });
    lens.command({ timeMs: 0, focalPowerDpt: 1.5 });
    expect(at(lens, 10_000)).toBeCloseTo(1.02 * 1.5 - 0.05 + 0.04 + 1e-3, 9);
  });

  it('closed form: creep brings its part of the step with a time constant of 4 s', () => {
    const lens = lensWith({ creepRatio: 0.01 });
    lens.command({ timeMs: 0, focalPowerDpt: 2 });
    expect(at(lens, 4003)).toBeCloseTo(2 + 0.02 * (1 - Math.exp(-1)), 6);
    expect(at(lens, 60_000)).toBeCloseTo(2.02, 6);
  });

  it('property: every move has its own repeatability error, of the given spread; no move, no new error', () => {
    const lens = lensWith({ repeatabilityDpt: 0.01 });
    const landed: number[] = [];
    for (let i = 0; i < 400; i++) {
      lens.command({ timeMs: 2000 * i, focalPowerDpt: i % 2 });
      if (i % 2 === 1) landed.push(at(lens, 2000 * i + 1500) - 1);
    }
    const std = Math.sqrt(landed.reduce((sum, value) => sum + value * value, 0) / landed.length);
    expect(std).toBeGreaterThan(0.0085);
    expect(std).toBeLessThan(0.0115);
    const before = at(lens, 800_000);
    lens.command({ timeMs: 800_001, focalPowerDpt: 1 });
    expect(at(lens, 802_000)).toBeCloseTo(before, 12);
  });

  it('property: commands are rounded to the control step and never beyond the limits', () => {
    const lens = lensWith({}, { controlStepDpt: 0.02 });
    expect(lens.command({ timeMs: 0, focalPowerDpt: 0.513 })).toBe(0.52);
    expect(lens.command({ timeMs: 0, focalPowerDpt: datasheet.powerMaxDpt })).toBe(datasheet.powerMaxDpt);
    expect(lens.reportedDpt()).toBe(datasheet.powerMaxDpt);
  });

  it('property: a stuck lens stays; its driver reports it, or what is commanded', () => {
    for (const how of ['reported', 'unnoticed'] as const) {
      const lens = lensWith();
      lens.command({ timeMs: 0, focalPowerDpt: 1 });
      lens.stick(how);
      lens.command({ timeMs: 500, focalPowerDpt: 2 });
      expect(at(lens, 4000)).toBeCloseTo(1, 9);
      expect(lens.reportedDpt()).toBe(how === 'reported' ? 1 : 2);
    }
  });

  it('closed form: slowed four times, the first peak comes four times later', () => {
    const lens = lensWith({}, { slowingRatio: 4 });
    lens.command({ timeMs: 0, focalPowerDpt: 1 });
    expect(at(lens, 3 + 4 * 5.006262)).toBeCloseTo(1.85447, 5);
  });
});
