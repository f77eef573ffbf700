import { readFileSync } from 'node:fs';
import { bench, describe } from 'vitest';
import { planStation } from '../src/planning/index.js';
import { readStation, setStationValue } from '../src/station/index.js';

const yamlOf = (name: string) => readFileSync(new URL(`../stations/${name}.yaml`, import.meta.url), 'utf8');
/** Long enough for the compiler to have seen every path. */
const warm = { warmupTime: 1500, time: 1500 };
const about = { stationSha256: '', softwareVersion: '' };

describe('plan', () => {
  for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
    const station = readStation(yamlOf(name), { fileName: name });
    bench(
      name,
      () => {
        planStation(station, about);
      },
      warm,
    );
  }
});

describe('a value dragged: set, read, plan', () => {
  const yaml = yamlOf('glaze-line');
  let fNumber = 2;
  bench(
    'glaze-line',
    () => {
      fNumber = fNumber >= 16 ? 2 : fNumber + 0.1;
      const text = setStationValue(yaml, ['layout', 'fNumber'], Number(fNumber.toFixed(1)));
      planStation(readStation(text, { fileName: 'glaze-line.yaml' }), about);
    },
    warm,
  );
});
