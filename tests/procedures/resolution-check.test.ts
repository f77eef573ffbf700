import { describe, expect, it } from 'vitest';
import type { GreyImage } from '../../src/image/index.js';
import type { FittedCalibration } from '../../src/procedures/distance-calibration/lookup.js';
import { compareEdge } from '../../src/procedures/resolution-check/compare-edge.js';
import { planCheckPower, resolutionPlaces, withoutCalibration } from '../../src/procedures/resolution-check/plan.js';
import { predictedMtf } from '../../src/station/index.js';
import { glazeStation } from './glaze-station.js';

const station = glazeStation();
const any = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };
const lens = { temperatureDegC: 25, temperatureCoefficientDptPerDegC: 0.004 };

/** A curve 1000/d − 2 with an interval of ±0.02. */
const calibration: FittedCalibration = {
  kind: 'fitted',
  points: [],
  parameters: [],
  residualRmsDpt: 0,
  reducedChiSquare: 1,
  referenceTemperatureDegC: 25,
  explanation: '',
  curve: [300, 400, 600].map((mm) => ({ workingDistanceMm: mm, focalPowerDpt: 1000 / mm - 2, predicted95Dpt: 0.02 })),
};

describe('places of a resolution check', () => {
  it('closed form: near, far and their middle in vergence 2/(1/340 + 1/545) = 418.757, set to hundredths', () => {
    const places = resolutionPlaces(station, { distancesMm: null });
    expect(places.map((p) => p.name)).toEqual(['near', 'middle', 'far']);
    expect(places.map((p) => p.workingDistanceMm)).toEqual([340, 418.76, 545]);
  });

  it('closed form: of fixed places, those nearest in vergence', () => {
    const places = resolutionPlaces(station, { distancesMm: [300, 350, 410, 430, 500, 800] });
    expect(places.map((p) => p.workingDistanceMm)).toEqual([350, 410, 500]);
  });
});

describe('power of a resolution check', () => {
  const plan = (workingDistanceMm: number, available: Parameters<typeof planCheckPower>[0]['available'] = any) =>
    planCheckPower({ calibration, workingDistanceMm, lens, available, halfWidthDpt: 0.2 });

  it('closed form: the calibrated power, with its standard deviation', () => {
    const power = plan(400);
    if (power.kind === 'refused') throw new Error(power.reason);
    expect(power.focalPowerDpt).toBeCloseTo(0.5, 12);
    expect(power.calibratedStdDpt).toBeCloseTo(0.02 / 1.96, 12);
  });

  it('closed form: the nearest recorded power, and how far it is off', () => {
    const power = plan(400, { ...any, powersDpt: [0.3, 0.45, 0.6] });
    expect(power).toMatchObject({ focalPowerDpt: 0.45, calibratedDpt: expect.closeTo(0.5, 12) });
  });

  it('degenerate: just outside the limits the limit is used; refuses where focus lies beyond the depth of field', () => {
    expect(plan(400, { ...any, powerMaxDpt: 0.4 })).toMatchObject({ kind: 'power', focalPowerDpt: 0.4 });
    expect(plan(400, { ...any, powerMaxDpt: 0.2 })).toMatchObject({ kind: 'refused', reason: /needs 0.500 dpt/ });
  });

  it('refuses a distance outside the calibration, and a missing calibration with its reason', () => {
    expect(plan(700)).toMatchObject({ kind: 'refused', reason: /outside the calibrated 300.0 … 600.0 mm/ });
    expect(withoutCalibration(null).reason).toContain('no distance calibration');
    const refused = {
      kind: 'refused' as const,
      reason: 'no-spread',
      message: 'Too near together.',
      remedy: 'Spread.',
      points: [],
    };
    expect(withoutCalibration(refused)).toMatchObject({ reason: /Too near together/, remedy: 'Spread.' });
  });
});

describe('edge beside its prediction', () => {
  const widthPx = 200;
  /** An edge that falls `tiltPerRow` pixels to the right with each row, blurred by a logistic of given width; noise-free. */
  const edge = (blurPx: number, contrastDn = 120, tiltPerRow = 0.09): GreyImage => ({
    widthPx,
    heightPx: widthPx,
    bitDepth: 8,
    data: Uint8Array.from({ length: widthPx * widthPx }, (_, i) => {
      const x = (i % widthPx) - 100 - tiltPerRow * (Math.floor(i / widthPx) - 100);
      // A little fixed texture of ±0.5 DN keeps rounding from making steps.
      const dither = ((i * 7919) % 101) / 101 - 0.5;
      return Math.round(60 + contrastDn / (1 + Math.exp(-x / blurPx)) + dither);
    }),
  });
  const region = { xPx: 0, yPx: 0, widthPx, heightPx: widthPx };
  const compare = (image: GreyImage, change: Partial<Parameters<typeof compareEdge>[0]> = {}) =>
    compareEdge({ station, image, region, workingDistanceMm: 420, offBestFocusDpt: 0, focusStdDpt: 0.01, ...change });

  it('closed form: the MTF of a logistic edge is π²·2bν / sinh(π²·2bν)', () => {
    const blurPx = 0.5;
    const result = compare(edge(blurPx));
    if (result.kind !== 'measured') throw new Error(result.reason);
    const x = 2 * Math.PI ** 2 * blurPx * result.taskFrequencyPerPx * Math.cos(Math.atan(0.09));
    expect(result.mtfAtTask.value).toBeCloseTo(x / Math.sinh(x), 1);
    expect(result.orientation).toBe('near-vertical');
    expect(result.mtf.at(-1)!.frequencyPerPx).toBeCloseTo(0.5, 9);
  });

  it('closed form: the prediction is that of the station, with the known offset from best focus', () => {
    const inFocus = compare(edge(0.5));
    const off = compare(edge(0.5), { offBestFocusDpt: 0.1 });
    if (inFocus.kind !== 'measured' || off.kind !== 'measured') throw new Error('not measured');
    const frequenciesPerPx = [inFocus.taskFrequencyPerPx];
    const predicted = predictedMtf({ station, workingDistanceMm: 420, frequenciesPerPx, moving: false })![0]!;
    expect(inFocus.predictedMtfAtTask).toBeCloseTo(predicted, 6);
    expect(off.predictedMtfAtTask).toBeLessThan(predicted - 0.02);
    // Farther off, the same uncertainty of focus costs more contrast.
    expect(off.mtfAtTask.std!).toBeGreaterThan(inFocus.mtfAtTask.std!);
  });

  it('refuses a frame without an edge, and a task frequency beyond the sensor', () => {
    expect(compare(edge(0.5, 0))).toMatchObject({ kind: 'refused', reason: /No slanted edge/ });
    const fine = glazeStation((file) => {
      file.task.smallestFeatureMm = 0.05;
    });
    expect(compare(edge(0.5), { station: fine })).toMatchObject({
      kind: 'refused',
      reason: /beyond what the sensor can sample/,
    });
  });
});
