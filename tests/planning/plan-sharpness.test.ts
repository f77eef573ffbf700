import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { diffractionMtfInverse, fieldIllumination, squareWaveContrast } from '../../src/optics/index.js';
import { planSharpness, planStation } from '../../src/planning/index.js';
import { layoutModelOf, type Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';
import { randomStation } from './random-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const glaze = demoStation('glaze-line');
const names = ['glaze-line', 'vial-stopper', 'relay-pins'];

/** Every number of a record, with its path. */
function numbersOf(value: unknown, path = ''): [string, number][] {
  if (typeof value === 'number') return [[path, value]];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => numbersOf(inner, `${path}.${key}`));
}

describe('sharpness of a station', () => {
  it.each(names)('property: agrees with the plan at every plane, %s', (name) => {
    const station = demoStation(name);
    const { planes } = planSharpness(station);
    for (const predicted of plan(station).planes) {
      const own = planes.find((plane) => plane.name === predicted.name)!;
      expect(own.mtfAtTask).toBeCloseTo(predicted.mtfAtTask, 9);
      expect(own.cornerMtfAtTask).toBeCloseTo(predicted.cornerMtfAtTask, 9);
      expect(own.finestCentre!.objectPeriodUm / 2000).toBeCloseTo(predicted.finestFeatureMm!, 6);
      expect(own.magnification).toBeCloseTo(predicted.magnification, 12);
    }
  });

  it('closed form: diffraction alone ends the finest feature where its MTF falls to the contrast', () => {
    const station = changed(glaze, {
      task: { speedMmPerS: 0, contrastNeeded: 0.4 },
      parts: {
        sensor: { pixelPitchUm: 0.2, widthPx: 20_000, heightPx: 20_000 },
        fixedLens: { wavefrontErrorRmsWaves: 0 },
        tunableLens: { wavefrontErrorRmsWaves: 0 },
        light: { bandwidthNm: 0 },
      },
      layout: { fNumber: 16 },
    });
    for (const { finestCentre, workingFNumber, magnification } of planSharpness(station).planes) {
      const cutoffPerMm = 1 / (525e-6 * workingFNumber);
      // The pixel of 0.2 µm takes 0.03 % at this frequency.
      const expectedUm = 1000 / (diffractionMtfInverse(0.4) * cutoffPerMm * magnification);
      expect(Math.abs(finestCentre!.objectPeriodUm / expectedUm - 1)).toBeLessThan(2e-3);
      expect(finestCentre!.limitedBy).toBe('contrast');
    }
  });

  it('reference: a three-bar element is the finest whose square wave has the contrast (Coltman’s series)', () => {
    const station = demoStation('relay-pins');
    for (const { threeBar, mtfCurves, magnification, workingFNumber } of planSharpness(station).planes) {
      const { frequenciesPerPx } = planSharpness(station);
      // The MTF between its samples, straight: good to a per cent here; 0 beyond the Nyquist limit, which only the first
      // harmonic of the finest pattern passes.
      const mtfAt = (perPx: number) => {
        const place = (perPx / 0.5) * (frequenciesPerPx.length - 1);
        const low = Math.floor(place);
        const [a, b] = [mtfCurves.centre[low] ?? 0, mtfCurves.centre[low + 1] ?? 0];
        return a + (place - low) * (b - a);
      };
      const perPxOf = (perMm: number) => (perMm / magnification) * 3.45e-3;
      const cutoff = 3.45e-3 / (station.parts.light.wavelengthNm * 1e-6 * workingFNumber);
      const contrastOf = (perMm: number) => squareWaveContrast({ mtf: mtfAt, frequency: perPxOf(perMm), cutoff });
      expect(contrastOf(threeBar!.linePairsPerMm)).toBeGreaterThan(station.task.contrastNeeded - 0.01);
      expect(contrastOf(threeBar!.linePairsPerMm * 2 ** (1 / 6))).toBeLessThan(station.task.contrastNeeded + 0.01);
    }
  });

  it.each(names)('property: light and sharpness fall from the centre to the corner, %s', (name) => {
    const station = demoStation(name);
    const { planes, imageHeightsMm, darkestPlane } = planSharpness(station);
    for (const { light, mtfCurves, focalPowerDpt } of planes) {
      expect(light.relativeIllumination[0]).toBe(1);
      light.relativeIllumination.slice(1).forEach((value, i) => {
        expect(value).toBeLessThanOrEqual(light.relativeIllumination[i]!);
      });
      const at = { model: layoutModelOf(station), focalPowerDpt, imageHeightMm: imageHeightsMm[8]! };
      expect(light.relativeIllumination[8]).toBe(fieldIllumination(at).relativeIllumination);
      expect(mtfCurves.centre[0]).toBe(1);
      mtfCurves.centre.forEach((value, i) => {
        expect(mtfCurves.cornerTangential[i]).toBeLessThanOrEqual(value + 1e-9);
      });
    }
    const darkest = planes.find((plane) => plane.name === darkestPlane)!;
    const corner = (plane: (typeof planes)[number]) => plane.light.relativeIllumination.at(-1)!;
    for (const plane of planes) expect(corner(plane)).toBeGreaterThanOrEqual(corner(darkest));
  });

  it('property: a held focus is best at its own distance and equals the refocused contrast there', () => {
    const { overDistance, planes } = planSharpness(glaze);
    expect(overDistance.held.map(({ name }) => name)).toEqual(['near', 'middle', 'far']);
    for (const held of overDistance.held) {
      const best = held.mtfAtTask.indexOf(Math.max(...held.mtfAtTask));
      const { depthOfField } = plan(glaze).planes.find(({ name }) => name === held.name)!;
      const bestMm = overDistance.workingDistancesMm[best]!;
      expect(bestMm).toBeGreaterThan(depthOfField.taskContrast!.nearMm);
      expect(bestMm).toBeLessThan(depthOfField.taskContrast!.farMm!);
      held.mtfAtTask.forEach((value, i) => {
        expect(value).toBeLessThan(overDistance.refocusedMtfAtTask[i]! * 1.02);
      });
      expect(planes.find(({ name }) => name === held.name)!.focalPowerDpt).toBe(held.focalPowerDpt);
    }
  });

  it('property: a smaller clear aperture shrinks the field that no stop cuts, and darkens the corner', () => {
    const smaller = changed(glaze, { parts: { tunableLens: { clearApertureMm: 8 } } });
    const [wide, narrow] = [glaze, smaller].map((station) => planSharpness(station).planes[0]!);
    expect(narrow!.light.unvignettedFieldMm!).toBeLessThan(wide!.light.unvignettedFieldMm!);
    expect(narrow!.light.cornerUnvignettedShare).toBeLessThan(1);
    expect(narrow!.cornerMtfAtTask).toBeLessThan(wide!.cornerMtfAtTask);
    const { magnification } = narrow!;
    expect(narrow!.light.unvignettedFieldMm).toBeCloseTo((2 * narrow!.light.unvignettedRadiusMm!) / magnification, 9);
  });

  it('property: finite numbers for any station, also one of extreme colour and coma', () => {
    fc.assert(
      fc.property(
        randomStation,
        fc.option(fc.double({ min: 10, max: 150, noNaN: true }), { nil: undefined }),
        fc.double({ min: -5000, max: 5000, noNaN: true }),
        fc.constantFrom(0, 0.05, 0.5),
        fc.constantFrom(0, 50, 800),
        (base, abbeNumber, axialColourUm, gravityComaRmsWaves, bandwidthNm) => {
          const station = changed(base, {
            parts: {
              tunableLens: { abbeNumber, gravityComaRmsWaves },
              fixedLens: { axialColourUm },
              light: { bandwidthNm },
            },
          });
          for (const record of [planSharpness(station), plan(station)]) {
            const wrong = numbersOf(record).filter(([, number]) => !Number.isFinite(number));
            expect(wrong).toEqual([]);
          }
        },
      ),
      { numRuns: 30 },
    );
  });
});
