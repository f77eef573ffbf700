import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { focalPowerAt, traceSystem } from '../../src/optics/index.js';
import { layoutModelOf, stationSchema } from '../../src/station/index.js';
import { readText } from './folder.js';
import { recordedTruth } from './truth.js';

describe('the optical model against the frames’ own arithmetic', () => {
  const truth = recordedTruth();
  const station = stationSchema.parse(parse(readText('recorded-frames/station.yaml')));
  const model = layoutModelOf(station);

  it('reference: focal powers predicted from the station file', () => {
    for (const { workingDistanceMm, predictedByFileDpt } of truth.distances) {
      const result = focalPowerAt({ model, workingDistanceMm });
      expect(result.kind === 'power' && result.focalPowerDpt).toBeCloseTo(predictedByFileDpt, 5);
    }
  });

  it('reference: with the hidden gain, offset and ring it gives the true focus, magnification and working f-number', () => {
    const { powerGain, powerOffsetDpt, ringDistanceRelative } = truth.hidden;
    const built = { ...model, ringDistanceMm: model.ringDistanceMm! * (1 + ringDistanceRelative) };
    for (const { workingDistanceMm, bestFocusDpt, magnification } of truth.distances) {
      const traced = traceSystem({ model: built, focalPowerDpt: powerGain * bestFocusDpt + powerOffsetDpt });
      expect(traced.focus.kind === 'real' && traced.focus.workingDistanceMm).toBeCloseTo(workingDistanceMm, 3);
      expect(traced.magnification).toBeCloseTo(magnification, 7);
      expect(traced.workingFNumber).toBeCloseTo(truth.workingFNumber, 6);
    }
  });
});
