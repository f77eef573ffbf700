import { describe, expect, it } from 'vitest';
import {
  determinant,
  fixedLensFromGroups,
  gapMatrix,
  lensPair,
  splitAtStop,
  systemMatrix,
  withFocalLength,
  workingDistanceAt,
} from '../../src/optics/index.js';
import { atStop, groups } from './layouts.js';

const lens = fixedLensFromGroups({ groups, fNumber: 4 });

describe('lens groups', () => {
  it('reference: focal length of the groups is that of Gullstrand’s equation', () => {
    const pair = lensPair({
      firstPowerDpt: 1000 / groups.frontFocalLengthMm,
      secondPowerDpt: 1000 / groups.rearFocalLengthMm,
      gapMm: groups.frontToStopMm + groups.stopToRearMm,
    });
    expect(lens.focalLengthMm).toBeCloseTo(pair.focalLengthMm!, 9);
  });

  it('closed form: pupil magnification (1 − 12/60) / (1 − 9/40)', () => {
    expect(lens.pupilMagnification).toBeCloseTo(0.8 / 0.775, 12);
  });

  it('property: both halves together are the fixed lens between its principal planes', () => {
    const { toStop, fromStop } = splitAtStop(lens);
    const whole = systemMatrix([toStop, fromStop]);
    expect(whole.a).toBeCloseTo(1, 9);
    expect(whole.b).toBeCloseTo(0, 9);
    expect(whole.c).toBeCloseTo(-1 / lens.focalLengthMm, 12);
    expect(determinant(toStop)).toBeCloseTo(1, 12);
  });

  it('property: the pupils of the groups lie f(1 − 1/P) before and f(1 − P) behind the principal planes', () => {
    const { toStop, fromStop } = splitAtStop(lens);
    const entranceMm = -toStop.b / toStop.a;
    expect(entranceMm).toBeCloseTo(lens.focalLengthMm * (1 - 1 / lens.pupilMagnification), 9);
    const exitMm = -fromStop.b / fromStop.d;
    expect(exitMm).toBeCloseTo(lens.focalLengthMm * (1 - lens.pupilMagnification), 9);
    expect(systemMatrix([fromStop, gapMatrix({ gapMm: exitMm })]).b).toBeCloseTo(0, 9);
  });

  it('degenerate: with 0 dpt at the stop the layout focuses its ring distance', () => {
    const focus = workingDistanceAt({ model: { ...atStop, spacerMm: 0 }, focalPowerDpt: 0 });
    expect(focus.kind).toBe('real');
    expect(focus.kind === 'real' && focus.workingDistanceMm).toBeCloseTo(500 - 10, 6);
  });

  it('property: another focal length scales the groups and keeps the pupils', () => {
    const scaled = withFocalLength({ fixedLens: lens, focalLengthMm: 1.1 * lens.focalLengthMm });
    const again = fixedLensFromGroups({ groups: scaled.groups!, fNumber: 4 });
    expect(again.focalLengthMm).toBeCloseTo(1.1 * lens.focalLengthMm, 9);
    expect(again.pupilMagnification).toBeCloseTo(lens.pupilMagnification, 12);
    expect(withFocalLength({ fixedLens: { ...lens, groups: undefined }, focalLengthMm: 20 }).groups).toBeUndefined();
  });

  it('refuses groups that do not make the declared lens, and says what they make', () => {
    const { focalLengthMm } = lens;
    expect(() => splitAtStop({ ...lens, focalLengthMm: focalLengthMm * 1.02 })).toThrow(
      `fixedLens.groups give ${Number(focalLengthMm.toPrecision(5))} mm; allowed: within 1 %`,
    );
    expect(() => splitAtStop({ ...lens, focalLengthMm: focalLengthMm * 1.009 })).not.toThrow();
    expect(() => splitAtStop({ ...lens, pupilMagnification: 1.5 })).toThrow(
      /pupilMagnification is 1.5, but .* give 1.03/,
    );
    expect(() => splitAtStop({ ...lens, groups: undefined })).toThrow(/fixedLens.groups is missing/);
    expect(() => fixedLensFromGroups({ groups: { ...groups, rearFocalLengthMm: -20 }, fNumber: 4 })).toThrow(
      /power of/,
    );
    expect(() => fixedLensFromGroups({ groups: { ...groups, frontFocalLengthMm: 12 }, fNumber: 4 })).toThrow(
      /focal plane/,
    );
    expect(() => fixedLensFromGroups({ groups: { ...groups, frontFocalLengthMm: 0 }, fNumber: 4 })).toThrow(/not 0 mm/);
  });
});
