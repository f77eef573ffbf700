import { describe, expect, it } from 'vitest';
import {
  fieldOfViewMm,
  layoutModelOf,
  middleDistanceMm,
  patternSignalToNoise,
  powerLimitsOf,
  predictedFocalPowerDpt,
  predictedMagnification,
  predictedMtf,
  predictedWorkingDistance,
  sensorNoiseModelOf,
  stationSchema,
  taskFrequencyPerPx,
  taskPlanesOf,
  whitePhotonsPerPixel,
} from '../../src/station/index.js';
import { demoStation } from './demo-stations.js';

const glaze = demoStation('glaze-line');

describe('predictions of a station', () => {
  it('closed form: object-side power is 1/s_o − 1/(s_r − t), in m, from the planes of the file', () => {
    // 1/s_o = P + 1/(s_r − t): ring 560 mm, gap 22 mm, 6 mm from front to plane
    const expectedDpt = 1000 / (400 + 6) - 1000 / (560 - 22);
    expect(predictedFocalPowerDpt({ station: glaze, workingDistanceMm: 400 })).toBeCloseTo(expectedDpt, 9);
  });

  it('property: distance → power → distance in all three demonstration stations', () => {
    for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
      const station = demoStation(name);
      for (const { workingDistanceMm } of taskPlanesOf(station)) {
        const focalPowerDpt = predictedFocalPowerDpt({ station, workingDistanceMm })!;
        const back = predictedWorkingDistance({ station, focalPowerDpt });
        expect(back).toMatchObject({ kind: 'real', workingDistanceMm: expect.closeTo(workingDistanceMm, 6) });
      }
    }
  });

  it('closed form: middle is midway in vergence', () => {
    expect(middleDistanceMm(glaze)).toBeCloseTo((2 * 340 * 545) / (340 + 545), 9);
    expect(taskPlanesOf(glaze).map(({ name }) => name)).toEqual(['near', 'middle', 'far']);
    expect(taskPlanesOf(demoStation('vial-stopper')).map(({ name }) => name)).toEqual([
      'plane-1',
      'plane-2',
      'plane-3',
      'plane-4',
    ]);
  });

  it('closed form: field and frequency from magnification', () => {
    const magnification = predictedMagnification({ station: glaze, workingDistanceMm: 340 })!;
    expect(fieldOfViewMm({ station: glaze, magnification }).fieldWidthMm).toBeCloseTo(
      (1280 * 4.8e-3) / magnification,
      9,
    );
    expect(taskFrequencyPerPx({ station: glaze, magnification })).toBeCloseTo(4.8e-3 / (2 * 0.2 * magnification), 12);
  });

  it('property: the MTF in focus is the greatest over power, and motion only lowers it', () => {
    const at = (focalPowerDpt: number | null, moving: boolean) =>
      predictedMtf({ station: glaze, workingDistanceMm: 400, focalPowerDpt, frequenciesPerPx: [0.2], moving })![0]!;
    const bestDpt = predictedFocalPowerDpt({ station: glaze, workingDistanceMm: 400 })!;
    expect(at(bestDpt, false)).toBeCloseTo(at(null, false), 9);
    for (const offDpt of [-0.2, -0.05, 0.05, 0.2]) expect(at(bestDpt + offDpt, false)).toBeLessThan(at(null, false));
    expect(at(null, true)).toBeLessThan(at(null, false));
  });

  it('reference: photons and signal-to-noise ratio of EMVA 1288 by hand', () => {
    // 50.3411657 · 4.8² µm² · 0.6 ms · 0.525 µm · 40 µW/cm²
    const photons = whitePhotonsPerPixel({ station: glaze });
    expect(photons).toBeCloseTo(50.3411657 * 23.04 * 0.6 * 0.525 * 40, 1);
    const halfE = 0.3 * photons;
    const noiseE = Math.sqrt(8 ** 2 + 1 / 12 / 0.02 ** 2 + halfE);
    expect(patternSignalToNoise({ station: glaze, whitePhotons: photons, contrast: 0.2 })).toBeCloseTo(
      (0.4 * halfE) / noiseE,
      9,
    );
  });

  it('closed form: saturation is cut where the grey values end', () => {
    const { parts } = glaze;
    expect(sensorNoiseModelOf(glaze).saturationCapacityE).toBe(12000);
    const steep = { ...glaze, parts: { ...parts, sensor: { ...parts.sensor, gainDnPerE: 0.1 } } };
    expect(sensorNoiseModelOf(steep).saturationCapacityE).toBeCloseTo((255 - 2) / 0.1, 9);
  });

  it('closed form: the station’s own limits lie inside those of the lens', () => {
    expect(powerLimitsOf(glaze)).toEqual({ powerMinDpt: -2, powerMaxDpt: 3 });
    const tighter = { ...glaze, controls: { ...glaze.controls, powerMaxDpt: 2 } };
    expect(powerLimitsOf(tighter)).toEqual({ powerMinDpt: -2, powerMaxDpt: 2 });
  });

  it('degenerate: missing planes and pupils are assumed, groups give their own pupil magnification', () => {
    const input = structuredClone(glaze);
    delete input.parts.fixedLens.pupilMagnification;
    expect(layoutModelOf(input).fixedLens.pupilMagnification).toBe(1);
    // two thin lenses of 32 mm, 4 mm apart, the stop 1 mm behind the first: ratio of the stop’s images
    input.parts.fixedLens.groups = { frontFocalLengthMm: 32, frontToStopMm: 1, stopToRearMm: 3, rearFocalLengthMm: 32 };
    expect(layoutModelOf(input).fixedLens.pupilMagnification).toBeCloseTo((1 - 1 / 32) / (1 - 3 / 32), 9);
  });

  it('refuses groups that do not make the lens they are said to make', () => {
    const wrong = {
      ...glaze,
      parts: {
        ...glaze.parts,
        fixedLens: {
          ...glaze.parts.fixedLens,
          pupilMagnification: undefined,
          groups: { frontFocalLengthMm: 40, frontToStopMm: 2, stopToRearMm: 2, rearFocalLengthMm: 40 },
        },
      },
      layout: { ...glaze.layout, tunableLensAt: 'at-stop', gapMm: 0 },
    };
    const result = stationSchema.safeParse(wrong);
    expect(result.error?.issues[0]?.message).toMatch(
      /cannot be built: fixedLens\.focalLengthMm is 16 mm, but fixedLens\.groups give 21\.05/,
    );
  });
});
