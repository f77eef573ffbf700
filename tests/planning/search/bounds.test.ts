import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  defocusOtf,
  fieldIllumination,
  focalPowerAt,
  sensorDistanceMm,
  traceSystem,
} from '../../../src/optics/index.js';
import { planStation } from '../../../src/planning/index.js';
import { mtfPartsOf } from '../../../src/planning/mtf-parts.js';
import { contrastBound } from '../../../src/planning/search/contrast-bound.fast.js';
import { defocusWavesAtShare } from '../../../src/planning/search/focus-width.js';
import { marginsOf } from '../../../src/planning/search/margins.js';
import { cornerShare, pairAperture, pairPupil } from '../../../src/planning/search/pair-aperture.js';
import { leverMm, pairModel, pairOpticsOf, sensorPowerPerMm } from '../../../src/planning/search/pair-optics.js';
import { layoutModelOf, type Station } from '../../../src/station/index.js';
import { randomStation } from '../random-station.js';
import { stationWithGroups } from './station-with-groups.js';

const about = { stationSha256: '', softwareVersion: '' };
const relative = (a: number, b: number) => Math.abs(a - b) / Math.max(1e-12, Math.abs(b));

function agreesWithTrace(station: Station): void {
  const model = layoutModelOf(station);
  const optics = pairOpticsOf({
    station,
    model: pairModel(station, station.layout.gapMm, station.layout.tunableLensAt),
  });
  const sensorMm = sensorDistanceMm(model);
  for (const plane of optics.planes) {
    const power = focalPowerAt({ model, workingDistanceMm: plane.workingDistanceMm });
    if (power.kind === 'none') continue;
    const { focalPowerDpt } = power;
    const traced = traceSystem({ model, focalPowerDpt });
    if (traced.focus.kind !== 'real' || Math.abs(focalPowerDpt) > 1e4) continue;
    const powerDpt = 1000 * (sensorPowerPerMm(optics.after, sensorMm) + plane.slopePerMm);
    expect(Math.abs(powerDpt - focalPowerDpt)).toBeLessThan(1e-9 * (1 + Math.abs(focalPowerDpt)));
    expect(relative(-leverMm(optics.after, sensorMm) / plane.heightMm, traced.magnification)).toBeLessThan(1e-6);
    const aperture = pairAperture(optics, sensorMm, plane, station.layout.fNumber);
    expect(relative(aperture.workingFNumber, traced.workingFNumber)).toBeLessThan(1e-6);
    const pupil = pairPupil(optics, sensorMm, plane, aperture);
    if (traced.entrancePupil.diameterMm < 1e4)
      expect(relative(pupil.diameterMm, traced.entrancePupil.diameterMm)).toBeLessThan(1e-5);
    const corner = fieldIllumination({ model, focalPowerDpt, imageHeightMm: 3 }).relativeIllumination;
    expect(Math.abs(cornerShare(aperture, 3) - corner)).toBeLessThan(1e-5);
  }
}

describe('what the search knows of a pair of lenses', () => {
  it('property: power, magnification, aperture, pupil and corner light equal the traced system, lens before and behind', () => {
    fc.assert(fc.property(randomStation, agreesWithTrace), { numRuns: 200, seed: 1 });
  });

  it('property: the same with the tunable lens at the stop', () => {
    for (const ringDistanceMm of [null, 400, 900]) agreesWithTrace(stationWithGroups(ringDistanceMm));
  });
});

describe('bounds of the search', () => {
  it('reference: the width of focus by share of contrast lies above the exact crossing, by less than 2 % (Hopkins’s OTF)', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.012, max: 0.97, noNaN: true }),
        fc.double({ min: 0.05, max: 0.98, noNaN: true }),
        (s, share) => {
          const waves = defocusWavesAtShare(s, share);
          const inFocus = defocusOtf({ normalisedFrequency: s, defocusWaves: 0 });
          expect(defocusOtf({ normalisedFrequency: s, defocusWaves: waves })).toBeLessThanOrEqual(
            share * inFocus + 1e-9,
          );
          expect(defocusOtf({ normalisedFrequency: s, defocusWaves: waves * 0.98 })).toBeGreaterThan(share * inFocus);
        },
      ),
      { seed: 2, numRuns: 400 },
    );
  });

  it('property: the fast contrast equals the plan’s', () => {
    const positive = (max: number) => fc.double({ min: 0.001, max, noNaN: true });
    fc.assert(
      fc.property(
        positive(200),
        positive(12),
        positive(0.15),
        positive(6),
        (frequencyPerMm, workingFNumber, rms, smearUm) => {
          const stages = { wavelengthNm: 525, pixelPitchUm: 3.45, wavefrontErrorRmsWaves: rms, motionBlurUm: smearUm };
          const { mtfAtTask } = mtfPartsOf({ frequencyPerMm, workingFNumber, stages });
          const fast = contrastBound(
            { wavelengthMm: 525e-6, pixelPitchMm: 3.45e-3, wavefrontErrorRmsWaves: rms },
            frequencyPerMm,
            workingFNumber,
            smearUm / 1000,
          );
          expect(fast).toBeCloseTo(mtfAtTask, 12);
        },
      ),
      { seed: 3 },
    );
  });
});

describe('margins of the search', () => {
  it('property: they are the rows of the plan', () => {
    fc.assert(
      fc.property(randomStation, (station) => {
        const margins = marginsOf(station);
        const { ledger } = planStation(station, about);
        const shares = (start: string, end = '') =>
          ledger
            .filter(({ key }) => key.startsWith(start) && key.endsWith(end))
            .map(({ predicted, required }) => {
              if (!predicted) return -1000;
              const { min = null, max = null } = required ?? {};
              return min !== null ? predicted.value / min - 1 : 1 - predicted.value / max!;
            });
        const worst = (start: string, end?: string) => Math.max(-1000, Math.min(...shares(start, end)));
        if (ledger.some(({ key, predicted }) => key.endsWith('mtfAtTask') && predicted === null)) return;
        expect(margins.fieldWidth).toBeCloseTo(worst('field.width'), 9);
        expect(margins.fieldHeight).toBeCloseTo(worst('field.height'), 9);
        expect(margins.sampling).toBeCloseTo(worst('sampling'), 9);
        expect(margins.cornerLight).toBeCloseTo(worst('illumination.corner'), 9);
        expect(margins.contrast).toBeCloseTo(worst('resolution.', '.mtfAtTask'), 9);
        expect(margins.signalToNoise).toBeCloseTo(worst('light.signalToNoise'), 9);
        expect(margins.cycle).toBeCloseTo(worst('timing.cycle'), 9);
        const focus = ledger.filter(({ key }) => key.startsWith('focus.'));
        expect(margins.focus >= 0).toBe(focus.every(({ verdict }) => verdict !== 'fails'));
        const reach = ledger.filter(({ key }) => key.startsWith('reach.'));
        expect(Math.min(margins.reachNear, margins.reachFar) >= 0).toBe(
          reach.every(({ verdict }) => verdict === 'meets'),
        );
      }),
      { numRuns: 60, seed: 5 },
    );
  });
});
