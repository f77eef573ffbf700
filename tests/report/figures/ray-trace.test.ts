import { describe, expect, it } from 'vitest';
import { focalPowerAt, type LayoutModel, layoutMatrices, traceSystem } from '../../../src/optics/index.js';
import { drawnLayout, rayFan } from '../../../src/report/figures/ray-trace.js';

const base = {
  fixedLens: { focalLengthMm: 16, fNumber: 4, pupilMagnification: 1.1 },
  clearApertureMm: 16,
  ringDistanceMm: 560,
  spacerMm: 0,
  frontOffsetMm: 6,
};
const groups = { frontFocalLengthMm: 40, frontToStopMm: 4, stopToRearMm: 5, rearFocalLengthMm: 22 };
const layouts: [string, LayoutModel][] = [
  ['object-side', { ...base, tunableLensAt: 'object-side', gapMm: 22 }],
  ['image-side', { ...base, tunableLensAt: 'image-side', gapMm: 5 }],
  ['at-stop', { ...base, tunableLensAt: 'at-stop', gapMm: 0, fixedLens: groupsLens() }],
];

/** Two thin groups d apart: P = P1 + P2 − d·P1·P2; pupil magnification from the stop's images by rear and front. */
function groupsLens() {
  const { frontFocalLengthMm: f1, rearFocalLengthMm: f2, frontToStopMm, stopToRearMm } = groups;
  const power = 1 / f1 + 1 / f2 - (frontToStopMm + stopToRearMm) / (f1 * f2);
  return {
    focalLengthMm: 1 / power,
    fNumber: 4,
    pupilMagnification: (1 - frontToStopMm / f1) / (1 - stopToRearMm / f2),
    groups,
  };
}

describe('rays of the drawing', () => {
  it.each(layouts)(
    'closed form: %s, marginal rays meet on the sensor, chief rays land at magnification × height',
    (_, model) => {
      for (const workingDistanceMm of [300, 545]) {
        const power = focalPowerAt({ model, workingDistanceMm });
        if (power.kind === 'none') throw new Error(power.reason);
        const { focalPowerDpt } = power;
        const { magnification } = traceSystem({ model, focalPowerDpt });
        const rays = rayFan({ model, workingDistanceMm, focalPowerDpt, halfFieldMm: 50 });
        for (const ray of rays.marginal) expect(ray.at(-1)!.heightMm).toBeCloseTo(0, 9);
        expect(rays.chief[0].at(-1)!.heightMm).toBeCloseTo(50 * magnification, 9);
        expect(rays.chief[1].at(-1)!.heightMm).toBeCloseTo(-50 * magnification, 9);
        expect(rays.marginal[0].at(-1)!.zMm).toBe(drawnLayout(model).sensorZMm);
        expect(rays.marginal[0][0]!.zMm).toBe(-workingDistanceMm);
      }
    },
  );

  it.each(layouts)('property: %s, an upper marginal ray passes the rim of the limiting stop', (_, model) => {
    const power = focalPowerAt({ model, workingDistanceMm: 400 });
    if (power.kind === 'none') throw new Error(power.reason);
    const traced = traceSystem({ model, focalPowerDpt: power.focalPowerDpt });
    const { fixedLensStop, tunableLensStop } = layoutMatrices({ model, focalPowerDpt: power.focalPowerDpt });
    const stop = traced.limitingStop === 'fixed-lens' ? fixedLensStop : tunableLensStop;
    const [first, second] = rayFan({
      model,
      workingDistanceMm: 400,
      focalPowerDpt: power.focalPowerDpt,
      halfFieldMm: 1,
    }).marginal[0];
    const slope = (second!.heightMm - first!.heightMm) / (second!.zMm - first!.zMm);
    const atFirstPlaneMm = slope * (400 + model.frontOffsetMm);
    expect(Math.abs(stop.fromFirstPlane.a * atFirstPlaneMm + stop.fromFirstPlane.b * slope)).toBeCloseTo(
      stop.radiusMm,
      9,
    );
  });
});
