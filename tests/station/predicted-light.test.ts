import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { greyValueStatistics } from '../../src/optics/index.js';
import {
  checkStation,
  type Station,
  sensorNoiseModelOf,
  stationSchema,
  whiteIrradianceUwPerCm2,
  whitePhotonsPerPixel,
} from '../../src/station/index.js';
import { changed } from '../planning/changed-station.js';
import { demoStation, glazeLineWith } from './demo-stations.js';

const glaze = demoStation('glaze-line');

/** The station with its light known by a frame instead of an irradiance. */
function measured(station: Station, frame: { meanGreyDn: number; exposureMs: number; reflectance?: number }): Station {
  const { sensorIrradianceUwPerCm2: _, ...light } = station.parts.light;
  return stationSchema.parse({ ...station, parts: { ...station.parts, light: { ...light, measured: frame } } });
}

describe('whiteIrradianceUwPerCm2', () => {
  it('reference: the worked example of EMVA 1288 backwards: 204.47 electrons are 1 µW/cm² in 1 ms', () => {
    // Computed from the formulas of EMVA 1288 (references/tables/camera-noise.json): 3.45 µm, 525 nm, η 0.65, K 0.35: μ_y − dark 71.56524 DN at E = 1 µW/cm², t = 1 ms
    const sensor = { pixelPitchUm: 3.45, quantumEfficiency: 0.65, gainDnPerE: 0.35, fullWellE: 10500, readNoiseE: 2.5 };
    const station = changed(glaze, { parts: { sensor: { ...sensor, bitDepth: 12, blackLevelDn: 0 } } });
    const frame = measured(station, { meanGreyDn: 71.56524, exposureMs: 1 });
    expect(whiteIrradianceUwPerCm2(frame)).toBeCloseTo(1, 6);
  });

  it('recovery: a frame computed from an irradiance gives it back, whatever exposure and reflectance', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 60, noNaN: true }),
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        fc.double({ min: 0.05, max: 1, noNaN: true }),
        (irradiance, exposureMs, reflectance) => {
          const station = changed(glaze, { parts: { light: { sensorIrradianceUwPerCm2: irradiance } } });
          const photons = whitePhotonsPerPixel({ station, exposureMs }) * reflectance;
          const grey = greyValueStatistics({ sensor: sensorNoiseModelOf(station), photons, exposureMs });
          fc.pre(!grey.saturated && grey.meanDn > 2.001);
          const back = measured(station, { meanGreyDn: grey.meanDn, exposureMs, reflectance });
          expect(whiteIrradianceUwPerCm2(back) / irradiance).toBeCloseTo(1, 9);
        },
      ),
    );
  });

  it('closed form: f-number scaling (N_from / N_to)² where the fixed lens limits the beam', () => {
    const at = (fNumber: number, atFNumber: number) =>
      whiteIrradianceUwPerCm2(changed(glaze, { layout: { fNumber }, parts: { light: { atFNumber } } }));
    expect(at(4, 4)).toBe(40);
    expect(at(8, 4)).toBeCloseTo(10, 9);
    expect(at(4, 5.6)).toBeCloseTo(40 * 1.4 ** 2, 9);
  });

  it('degenerate: where the tunable lens cuts the beam, opening the fixed lens gains nothing', () => {
    const narrow = changed(glaze, {
      parts: { tunableLens: { clearApertureMm: 3 }, light: { atFNumber: 4 } },
      layout: { fNumber: 2 },
    });
    expect(whiteIrradianceUwPerCm2(narrow)).toBeCloseTo(40, 9);
  });

  it.each([
    ['neither', '', /sensorIrradianceUwPerCm2 is needed, or measured/],
    ['both', 'sensorIrradianceUwPerCm2: 40\n    measured: { meanGreyDn: 90, exposureMs: 1 }', /keep one of the two/],
    ['a frame in saturation', 'measured: { meanGreyDn: 250, exposureMs: 1 }', /between the black level and saturation/],
    ['a frame in the dark', 'measured: { meanGreyDn: 1, exposureMs: 1 }', /between the black level and saturation/],
  ])('refuses %s', (_, lines, message) => {
    const checked = checkStation(glazeLineWith('sensorIrradianceUwPerCm2: 40', lines), { fileName: 'x.yaml' });
    if (checked.kind === 'valid') throw new Error('accepted');
    expect(checked.problems.map(({ text }) => text).join('\n')).toMatch(message);
  });
});
