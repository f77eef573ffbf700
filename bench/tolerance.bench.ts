import { readFileSync } from 'node:fs';
import { bench, describe } from 'vitest';
import { focusInformationPerDpt2, sceneRings } from '../src/planning/autofocus/focus-information.js';
import { probedRings } from '../src/planning/autofocus/probed-rings.js';
import { planStation, toleranceRun } from '../src/planning/index.js';
import { layoutModelOf, readStation } from '../src/station/index.js';

const stationOf = (name: string) =>
  readStation(readFileSync(new URL(`../stations/${name}.yaml`, import.meta.url), 'utf8'), { fileName: name });

describe('tolerance: 10 000 stations on one core', () => {
  for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
    const station = stationOf(name);
    bench(
      name,
      () => {
        const run = toleranceRun({ station, stationCount: 10_000, seed: 1 });
        run.advance(10_000);
        run.record({ stationSha256: '', softwareVersion: '' });
      },
      { iterations: 5, time: 0, warmupIterations: 1, warmupTime: 0 },
    );
  }
});

describe('predicted autofocus: information of three probes', () => {
  const station = stationOf('glaze-line');
  const plane = planStation(station, { stationSha256: '', softwareVersion: '' }).planes[2]!;
  const rings = sceneRings({ regionPx: 256, contrastToNoiseRatio: 6, spectrumExponent: 2 });
  const probesDpt = [-0.3, 0, 0.3].map((dpt) => plane.neededPowerDpt! + dpt);
  bench('glaze-line', () => {
    const { workingDistanceMm } = plane;
    focusInformationPerDpt2(
      probedRings({ station, model: layoutModelOf(station), rings, workingDistanceMm, probesDpt }),
    );
  });
});
