import { describe, expect, it } from 'vitest';
import { focalPowerAt, systemMtf, traceSystem } from '../../src/optics/index.js';
import { mtfPartsOf } from '../../src/planning/mtf-parts.js';
import { layoutModelOf, predictedMtf, sharpnessStagesOf, taskFrequencyPerMm } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const glaze = demoStation('glaze-line');
const coloured = changed(glaze, {
  parts: { tunableLens: { abbeNumber: 30, gravityComaRmsWaves: 0.06 }, fixedLens: { axialColourUm: 25 } },
});

function partsAt(station: typeof glaze, workingDistanceMm: number) {
  const model = layoutModelOf(station);
  const power = focalPowerAt({ model, workingDistanceMm });
  if (power.kind === 'none') throw new Error(power.reason);
  const { focalPowerDpt } = power;
  const { workingFNumber, magnification } = traceSystem({ model, focalPowerDpt });
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt, magnification, moving: true });
  const frequencyPerMm = taskFrequencyPerMm({ station, magnification });
  return { ...mtfPartsOf({ frequencyPerMm, workingFNumber, stages }), frequencyPerMm, workingFNumber, stages };
}

describe('MTF and its parts', () => {
  it('property: the parts multiply to systemMtf, with colour and coma', () => {
    for (const station of [glaze, coloured]) {
      const { parts, mtfAtTask, frequencyPerMm, workingFNumber, stages } = partsAt(station, 350);
      const product = Object.values(parts).reduce((a, b) => a * b, 1);
      const whole = systemMtf({ ...stages, spatialFrequencyPerMm: frequencyPerMm, workingFNumber, defocusWaves: 0 });
      expect(product).toBeCloseTo(whole, 9);
      expect(mtfAtTask).toBeCloseTo(whole, 9);
    }
  });

  it('degenerate: lenses without colour and coma leave predictedMtf, and both factors at 1', () => {
    const { parts, mtfAtTask, frequencyPerMm } = partsAt(glaze, 350);
    const frequenciesPerPx = [frequencyPerMm * 4.8e-3];
    const [expected] = predictedMtf({ station: glaze, workingDistanceMm: 350, frequenciesPerPx, moving: true })!;
    expect(mtfAtTask).toBeCloseTo(expected!, 9);
    expect(parts).toMatchObject({ colour: 1, coma: 1 });
  });

  it('property: each key lowers its own part; a vertical axis takes the coma away', () => {
    const { parts } = partsAt(coloured, 350);
    expect(parts.colour).toBeLessThan(0.995);
    expect(parts.coma).toBeLessThan(0.95);
    const hanging = changed(coloured, { layout: { opticalAxisFromVerticalDeg: 0 } });
    expect(partsAt(hanging, 350).parts.coma).toBe(1);
    const aslant = changed(coloured, { layout: { opticalAxisFromVerticalDeg: 30 } });
    expect(partsAt(aslant, 350).stages.comaRmsWaves).toBeCloseTo(0.03, 12);
    const narrow = changed(coloured, { parts: { light: { bandwidthNm: 0 } } });
    expect(partsAt(narrow, 350).parts.colour).toBe(1);
  });
});
