import { describe, expect, it } from 'vitest';
import { spectrumRegion } from '../../../src/image/index.js';
import { believeAtCutoffs, cutoffCandidate } from '../../../src/procedures/autofocus/model/cutoff-candidates.js';
import { completeOptics } from '../../../src/procedures/autofocus/model/focus-optics.js';
import type { BelievedFrame } from '../../../src/procedures/autofocus/model/hypothesis-fit.js';

const region = spectrumRegion({ xPx: 0, yPx: 0, widthPx: 128, heightPx: 128 });
const blurRadiusPerDptPx = 8;
const limits = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };
const candidateAt = (cutoffPerPx: number) =>
  cutoffCandidate(completeOptics({ cutoffPerPx, blurRadiusPerDptPx, blurRadiusLogStd: 0.2 }), {
    region,
    mostBlurPx: 40,
  });

/** Frames as a power law blurred by the optics of a cutoff has them, without any noise. */
function framesAt(cutoffPerPx: number, offsDpt: readonly number[], bestFocusDpt: number): BelievedFrame[] {
  const { table, spectrometer } = candidateAt(cutoffPerPx);
  const { frequenciesPerPx, coefficientCounts } = spectrometer.rings;
  return offsDpt.map((offDpt) => {
    const shares = new Float64Array(frequenciesPerPx.length);
    table.read({ blurRadiusPx: blurRadiusPerDptPx * offDpt, blurRadiusStdPx: 0.15 }, shares);
    const focalPowersDpt = [bestFocusDpt + offDpt];
    const powersDn2 = shares.map((share, ring) => 4 + (share * 300) / (frequenciesPerPx[ring]! / 0.1) ** 2.4);
    return { powersDn2, coefficientCounts, noiseDn2: 4, focalPowersDpt, play: null, scaleRatio: 1 };
  });
}

describe('belief where the cutoff is not known', () => {
  it.each([0.6, 2.1])('recovery: frames of a cutoff of %f per px', (cutoffPerPx) => {
    const frames = framesAt(cutoffPerPx, [-1.2, 0.9, 0.02, 0.3], 0.7);
    const asked = { frames, limits, sidePx: 128, expected: null };
    const candidates = [0.6, 1.1, 2.1].map(candidateAt);
    const { belief, left } = believeAtCutoffs(candidates, asked);
    expect(left[0]!.optics.cutoffPerPx).toBe(cutoffPerPx);
    expect(belief.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9);
    expect(belief[0]!.bestFocusDpt).toBeGreaterThan(0.66);
    expect(belief[0]!.bestFocusDpt).toBeLessThan(0.74);
  });

  it('degenerate: a single cutoff is believed in as it is', () => {
    const candidates = [candidateAt(1.1)];
    const { left } = believeAtCutoffs(candidates, {
      frames: framesAt(0.6, [-1.2, 0.9], 0.7),
      limits,
      sidePx: 128,
      expected: null,
    });
    expect(left).toBe(candidates);
  });
});
