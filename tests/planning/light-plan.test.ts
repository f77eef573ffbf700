import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const rowOf = (station: Station, key: string) => plan(station).ledger.find((row) => row.key === key)!;
const names = ['glaze-line', 'vial-stopper', 'relay-pins'];

describe('lightPlanOf', () => {
  it.each(names)('property: %s: the needed exposure just gives the ratio of signal to noise', (name) => {
    const station = demoStation(name);
    const exposureMs = plan(station).light!.neededExposureMs!;
    const row = rowOf(changed(station, { controls: { exposureMs } }), 'light.signalToNoise');
    expect(row.predicted!.value).toBeCloseTo(station.task.signalToNoiseNeeded, 6);
  });

  it('property: the motion’s exposure smears just the largest blur; an object at rest has none', () => {
    const exposureMs = plan(demoStation('glaze-line')).light!.motionExposureMs!;
    const row = rowOf(changed(demoStation('glaze-line'), { controls: { exposureMs } }), 'motion.blur');
    expect(row.predicted!.value).toBeCloseTo(1.5, 9);
    expect(plan(demoStation('vial-stopper')).light!.motionExposureMs).toBeNull();
  });

  it.each(names)(
    'property: %s: at the saturation exposure white is about at saturation, and 5 %% below it is not',
    (name) => {
      const station = demoStation(name);
      const exposureMs = plan(station).light!.saturationExposureMs;
      const at = (factor: number) =>
        rowOf(changed(station, { controls: { exposureMs: factor * exposureMs } }), 'light.saturation');
      expect(at(0.95).verdict).not.toBe('fails');
      expect(at(1).predicted!.value / at(1).required!.max!).toBeCloseTo(1, 1);
    },
  );

  it('property: the filling gain fills nine tenths of the grey values', () => {
    const station = changed(demoStation('glaze-line'), { parts: { sensor: { fullWellE: 1e6 } } });
    const gainDnPerE = plan(station).light!.fillingGainDnPerE;
    const row = rowOf(changed(station, { parts: { sensor: { gainDnPerE } } }), 'light.saturation');
    // the rounding noise does not grow with the gain, hence one decimal
    expect((row.predicted!.value - 2) / (255 - 2)).toBeCloseTo(0.9, 2);
  });

  it('degenerate: non-uniformity keeps the ratio below the need at any exposure', () => {
    const uneven = changed(demoStation('glaze-line'), {
      parts: { sensor: { nonUniformity: 0.2 } },
      task: { signalToNoiseNeeded: 50 },
    });
    expect(plan(uneven).light!.neededExposureMs).toBeNull();
    expect(rowOf(uneven, 'light.signalToNoise').remedy).toMatch(/average several frames/);
  });

  it('property: closing the aperture of a station whose light holds at an f-number takes light', () => {
    const station = changed(demoStation('glaze-line'), { parts: { light: { atFNumber: 4 } } });
    const at = (fNumber: number) => plan(changed(station, { layout: { fNumber } })).light!;
    expect(at(8).irradianceUwPerCm2).toBeCloseTo(10, 9);
    expect(at(8).neededExposureMs! / at(4).neededExposureMs!).toBeCloseTo(4, 9);
  });
});
