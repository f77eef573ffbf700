import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readSearchTask, readStation, stationToYaml } from '../../src/station/index.js';

const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
const station = readStation(yaml, { fileName: 'glaze-line.yaml' });
const taskAlone = stationToYaml({ format: 1, task: station.task } as never);

describe('task of a search', () => {
  it('property: a station file and its task alone ask for the same', () => {
    const whole = readSearchTask(yaml, { fileName: 'a.yaml' });
    const alone = readSearchTask(taskAlone, { fileName: 'b.yaml' });
    expect(alone.task).toEqual(whole.task);
    expect(alone.light).toBeNull();
    expect(whole.light?.irradianceUwPerCm2).toBe(40);
  });

  it('closed form: a light without a layout is stated at f/4, or at the f-number it names', () => {
    const light = 'light: {name: L, source: own, wavelengthNm: 525, sensorIrradianceUwPerCm2: 8}\n';
    expect(readSearchTask(taskAlone + light, { fileName: 'a.yaml' }).light?.workingFNumber).toBe(4);
    const named = light.replace('8}', '8, atFNumber: 5.6}');
    expect(readSearchTask(taskAlone + named, { fileName: 'a.yaml' }).light?.workingFNumber).toBe(5.6);
  });

  it.each([
    [taskAlone.replace('nearMm: 340', 'nearMm: 640'), 'task.farMm is 545 mm; must be greater than nearMm (640 mm)'],
    [taskAlone.replace('nearMm:', 'near:'), 'task.near is not a known key; did you mean nearMm'],
    [`${taskAlone}lamp: {}\n`, 'lamp is not a known key'],
    [
      `${taskAlone}light: {name: L, source: own, wavelengthNm: 525, measured: {meanGreyDn: 100, exposureMs: 1}}\n`,
      'needs the sensor and layout it was taken with',
    ],
    ['format: 1\n', 'station is missing'],
  ])('refuses %#: a task with a mistake, by line and key', (text, expected) => {
    expect(() => readSearchTask(text, { fileName: 'a.yaml' })).toThrow(expected);
  });
});
