import { describe, expect, it } from 'vitest';
import {
  contrastHalfWidthDpt,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  systemOtf,
  traceSystem,
} from '../../src/optics/index.js';
import { layoutModelOf } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';

const stages = { wavelengthNm: 550, pixelPitchUm: 3.45, wavefrontErrorRmsWaves: 0.05 };
const spatialFrequencyPerMm = 60;

function focusedAt(model: LayoutModel, workingDistanceMm: number) {
  const found = focalPowerAt({ model, workingDistanceMm });
  if (found.kind === 'none') throw new Error(found.reason);
  return { focalPowerDpt: found.focalPowerDpt, system: traceSystem({ model, focalPowerDpt: found.focalPowerDpt }) };
}

describe('contrast half-width', () => {
  it.each([
    ['glaze-line', 420],
    ['vial-stopper', 160],
    ['relay-pins', 140],
  ])('property: with the power off by it, %s has the threshold’s contrast at the same distance', (name, distance) => {
    const model = layoutModelOf(demoStation(name as 'glaze-line'));
    const { focalPowerDpt, system } = focusedAt(model, distance);
    const contrastThreshold = 0.3;
    const offDpt = contrastHalfWidthDpt({ ...stages, system, spatialFrequencyPerMm, contrastThreshold, mostDpt: 5 })!;
    for (const sign of [1, -1]) {
      const at = { model, focalPowerDpt: focalPowerDpt + sign * offDpt };
      const defocusWaves = layoutDefocusWaves({ ...at, workingDistanceMm: distance, wavelengthNm: 550 });
      const { workingFNumber } = traceSystem(at);
      const contrast = systemOtf({ ...stages, spatialFrequencyPerMm, workingFNumber, defocusWaves });
      // To first order in the power: the second order is below 2 % of the width here.
      expect(Math.abs(contrast - contrastThreshold)).toBeLessThan(0.02);
    }
  });

  it('closed form: a thin lens of power δ at marginal height y adds y²·δ/2 of path: 10 mm beam, 0.01 dpt, 0.2273 waves', () => {
    const at = { ...stages, spatialFrequencyPerMm: 20, mostDpt: 10 };
    const system = { workingFNumber: 4, tunableBeamDiameterMm: 10 };
    const contrastThreshold = systemOtf({
      ...stages,
      spatialFrequencyPerMm: 20,
      workingFNumber: 4,
      defocusWaves: 0.227273,
    });
    expect(contrastHalfWidthDpt({ ...at, system, contrastThreshold })).toBeCloseTo(0.01, 6);
  });

  it('property: with colour the nearer of both sides counts', () => {
    const spectrum = [
      { wavelengthNm: 500, weight: 0.5, focusShiftMm: 0.03 },
      { wavelengthNm: 600, weight: 0.5, focusShiftMm: 0 },
    ];
    const system = { workingFNumber: 4, tunableBeamDiameterMm: 8 };
    const at = { ...stages, spectrum, system, spatialFrequencyPerMm, contrastThreshold: 0.25, mostDpt: 5 };
    const offDpt = contrastHalfWidthDpt(at)!;
    const waves = (4 ** 2 * (offDpt / 1000)) / (2 * 550e-6);
    const contrasts = [waves, -waves].map((defocusWaves) =>
      systemOtf({ ...stages, spectrum, spatialFrequencyPerMm, workingFNumber: 4, defocusWaves }),
    );
    expect(Math.min(...contrasts)).toBeCloseTo(0.25, 5);
    expect(Math.max(...contrasts)).toBeGreaterThan(0.26);
  });

  it('degenerate: null where the contrast is not reached in focus; the most where it never fails', () => {
    const system = { workingFNumber: 8, tunableBeamDiameterMm: 1 };
    const at = { ...stages, system, mostDpt: 3 };
    expect(contrastHalfWidthDpt({ ...at, spatialFrequencyPerMm: 140, contrastThreshold: 0.5 })).toBeNull();
    expect(contrastHalfWidthDpt({ ...at, spatialFrequencyPerMm: 1, contrastThreshold: 0.1 })).toBe(3);
  });

  it('refuses a threshold outside 0 … 1', () => {
    const system = { workingFNumber: 8, tunableBeamDiameterMm: 1 };
    expect(() =>
      contrastHalfWidthDpt({ ...stages, system, spatialFrequencyPerMm: 1, contrastThreshold: 1, mostDpt: 3 }),
    ).toThrow(/contrastThreshold/);
  });
});
