import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pupilView, traceSystem } from '../../src/optics/index.js';
import { anyLayout } from './layouts.js';

describe('pupil view', () => {
  it('property: agrees with the trace, and |m| times the distance is the image scale', () => {
    let realOnes = 0;
    fc.assert(
      fc.property(anyLayout, fc.double({ min: -4, max: 6, noNaN: true }), (model, focalPowerDpt) => {
        const view = pupilView({ model, focalPowerDpt });
        const traced = traceSystem({ model, focalPowerDpt });
        expect(view.diameterMm).toBeCloseTo(traced.entrancePupil.diameterMm, 9);
        expect(view.beforeFirstPlaneMm).toBeCloseTo(model.frontOffsetMm - traced.entrancePupil.positionMm, 6);
        expect(view.workingFNumber).toBeCloseTo(traced.workingFNumber, 12);
        if (traced.focus.kind !== 'real') return;
        realOnes += 1;
        const fromPupilMm = traced.focus.workingDistanceMm + traced.entrancePupil.positionMm;
        expect(view.focusVergencePerMm * fromPupilMm).toBeCloseTo(1, 6);
        expect((Math.abs(traced.magnification) * Math.abs(fromPupilMm)) / view.imageScaleMm).toBeCloseTo(1, 6);
      }),
    );
    expect(realOnes).toBeGreaterThan(30);
  });
});
