import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { checkStation, readStation, setStationValue, stationToYaml, stationValueAt } from '../../src/station/index.js';
import { demoStation, demoYaml } from './demo-stations.js';

const fileName = 'station.yaml';

describe('setStationValue', () => {
  it('property: one value changes, every other character stays', () => {
    const before = demoYaml('glaze-line');
    const after = setStationValue(before, ['task', 'nearMm'], 355.5);
    expect(after).toBe(before.replace('nearMm: 340 ', 'nearMm: 355.5 '));
    expect(readStation(after, { fileName }).task.nearMm).toBe(355.5);
  });

  it.each([
    [['layout', 'ringDistanceMm'], null],
    [['layout', 'tunableLensAt'], 'image-side'],
    [['task', 'description'], 'find: pinholes # and cracks'],
    [['parts', 'light', 'riskGroup'], 'risk-group-2'],
    [['invented'], false],
  ] as const)('property: %j becomes %j and is read back', (path, value) => {
    const yaml = setStationValue(demoYaml('glaze-line'), path, value);
    const read = path.reduce<unknown>((at, key) => (at as Record<string, unknown>)[key], checkedInput(yaml));
    expect(read).toBe(value);
    expect(yaml).toContain('# tallest ware');
  });

  it('property: a new key and a list are added to their group, comments kept', () => {
    let yaml = setStationValue(demoYaml('glaze-line'), ['task', 'planesMm'], [350, 420, 540]);
    yaml = setStationValue(yaml, ['commissioning', 'distanceStdMm'], 0.2);
    yaml = setStationValue(yaml, ['task', 'planesMm'], [350, 540]);
    const station = readStation(yaml, { fileName });
    expect(station.task.planesMm).toEqual([350, 540]);
    expect(station.commissioning.distanceStdMm).toBe(0.2);
    expect(yaml).toContain('# tallest ware');
  });

  it('property: a value not allowed is set too, and then refused by the reader', () => {
    const checked = checkStation(setStationValue(demoYaml('glaze-line'), ['layout', 'fNumber'], 99), { fileName });
    expect(checked.kind).toBe('invalid');
  });

  it('property: many numbers set one after the other read, and are refused, as the same text read anew', () => {
    for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
      let yaml = demoYaml(name);
      const { uniform: random } = seededRandom(7);
      const paths = numberPaths(demoStation(name)).filter((path) => typeof stationValueAt(yaml, path) === 'number');
      expect(paths.length).toBeGreaterThan(30);
      for (const path of paths) {
        const value = Number(((random() - 0.2) * 10 ** Math.floor(8 * random() - 3)).toPrecision(5));
        yaml = setStationValue(yaml, path, value);
        const kept = checkStation(yaml, { fileName });
        readStation(demoYaml(name), { fileName });
        expect(kept).toEqual(checkStation(yaml, { fileName }));
        expect(stationValueAt(yaml, path)).toBe(value);
        // From here on the text is one that was read anew, then one that was kept.
        if (random() < 0.3) readStation(demoYaml(name), { fileName });
      }
    }
  });

  it('refuses a path that no station file has, and a group', () => {
    expect(() => setStationValue('', ['task', 'nearCm'], 3)).toThrow(/path is task\.nearCm; allowed:/);
    expect(() => setStationValue('', ['task'], 3)).toThrow(RangeError);
  });
});

describe('stationToYaml', () => {
  it('property: a station written is the station read', () => {
    for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
      const station = demoStation(name);
      expect(readStation(stationToYaml(station), { fileName })).toEqual(station);
    }
  });
});

/** Paths of all numbers of a station. */
function numberPaths(value: unknown, path: string[] = []): string[][] {
  if (typeof value === 'number') return [path];
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return [];
  return Object.entries(value).flatMap(([key, one]) => numberPaths(one, [...path, key]));
}

/** The values of a text that may be invalid as a whole. */
function checkedInput(yaml: string): unknown {
  const checked = checkStation(yaml, { fileName });
  if (checked.kind === 'valid') return checked.station;
  expect(checked.problems.every(({ keyPath }) => keyPath.startsWith('layout'))).toBe(true);
  return { layout: { tunableLensAt: /tunableLensAt: (\S+)/.exec(yaml)![1] } };
}

describe('stationValueAt', () => {
  it('property: tells what the text says, allowed or not, and keeps telling it after other texts', () => {
    const good = demoYaml('glaze-line');
    const bad = setStationValue(good, ['layout', 'fNumber'], 0);
    expect(stationValueAt(good, ['layout', 'fNumber'])).toBe(4);
    expect(stationValueAt(bad, ['layout', 'fNumber'])).toBe(0);
    expect(stationValueAt(good, ['layout', 'fNumber'])).toBe(4);
    expect(stationValueAt(good, ['layout', 'noSuchKey'])).toBeUndefined();
  });

  it('degenerate: text that is no YAML of the allowed kind says nothing', () => {
    for (const text of ['', '[1, 2', 'a: *b']) expect(stationValueAt(text, ['layout', 'fNumber'])).toBeUndefined();
  });
});
