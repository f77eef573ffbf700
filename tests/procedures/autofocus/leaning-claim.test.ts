import { describe, expect, it } from 'vitest';
import type { FocusEstimate } from '../../../src/procedures/autofocus/model/focus-estimate.js';
import { leaningClaim } from '../../../src/procedures/autofocus/model/leaning-claim.js';

const limits = { powerMinDpt: -2, powerMaxDpt: 3 };
const halfWidthDpt = 0.1;
const estimateAt = (focalPowerDpt: number, stdHalfWidths: number): FocusEstimate => ({
  focalPowerDpt,
  focalPowerStdDpt: stdHalfWidths * halfWidthDpt,
  blurRadiusPerDptPx: 10,
  sphericalWaves: 0,
  asymmetryPerDpt: 0,
  halfWidthDpt,
  probabilityInFocus: 0.99,
});
const claim = (focalPowerDpt: number, std: number, commandedDpt: number[], isUnknown = false) =>
  leaningClaim({ estimate: estimateAt(focalPowerDpt, std), commandedDpt, limits, isUnknown });

describe('claims that lean', () => {
  it('closed form: frames of one side ask for one three half-widths on the other', () => {
    expect(claim(1, 0.2, [-1, 0.4, 1.02])).toBeCloseTo(1.3, 12);
    expect(claim(1, 0.2, [2.5, 1.7, 1.02])).toBeCloseTo(0.7, 12);
  });

  it('property: frames on both sides, near ones, or a sure claim do not lean', () => {
    expect(claim(1, 0.2, [-1, 1.5, 1.02])).toBeNull();
    expect(claim(1, 0.2, [-1, 0.7, 1.02])).toBeNull();
    expect(claim(1, 0.1, [-1, 0.4, 1.02])).toBeNull();
    expect(claim(1, 0.1, [-1, 0.3, 0.95, 1.02])).toBeCloseTo(1.3, 12);
    expect(claim(1, 0.25, [-1, 0.7, 1.02], true)).toBeCloseTo(1.3, 12);
  });

  it('degenerate: no room beyond, or nothing but frames in focus', () => {
    expect(claim(2.95, 0.2, [0, 2.4, 2.94])).toBeCloseTo(2.75, 12);
    expect(claim(2.8, 0.2, [0, 2.3, 2.8])).toBeCloseTo(3, 12);
    expect(claim(1, 0.2, [1.02, 0.95])).toBeNull();
  });
});
