import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stationToYaml } from '../../src/station/index.js';
import { smallStation } from '../twin/small-station.js';
import { focuswright } from './run-cli.js';

let folder: string;
let simulated: string[];
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'focuswright-follow-'));
  const file = join(folder, 'small.yaml');
  writeFileSync(file, stationToYaml(smallStation));
  simulated = ['follow', '--camera', 'simulated', '--station', file, '--seed', '2'];
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('focuswright follow', () => {
  it('recovery: parts at named distances in turn, nearer ones at higher power; JSON lines, the summary last', async () => {
    const { code, stdout } = await focuswright([...simulated, '--distances', '360,500', '--parts', '3', '--json']);
    expect(code).toBe(0);
    const [begun, ...rest] = stdout
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line));
    expect(begun).toMatchObject({ kind: 'begun', simulated: true, forecast: 'station', region: { by: 'middle' } });
    const summary = rest.pop();
    expect(summary).toMatchObject({ kind: 'parts', state: 'complete', partCount: 3, foundCount: 3, refusedCount: 0 });
    expect(rest.map(({ kind, number, workingDistanceMm }) => [kind, number, workingDistanceMm])).toEqual([
      ['part', 1, 360],
      ['part', 2, 500],
      ['part', 3, 360],
    ]);
    const [near, far] = rest.map(({ result }) => result.focalPowerDpt);
    expect(near - far).toBeGreaterThan(0.5);
  }, 120_000);

  it('property: as text a line for each part; without distances the first look is like the last part', async () => {
    const { code, stdout } = await focuswright([...simulated, '--parts', '2', '--untold', '--roi', 'auto']);
    expect(code).toBe(0);
    expect(stdout).toMatch(/chosen for its texture/);
    expect(stdout).toMatch(/^ +2 +– +−?\d\.\d{3} ± \d\.\d{3} +−?\d\.\d{3} ± /m);
    expect(stdout).toMatch(/2 of 2 parts in focus\. The lens is parked\./);
  }, 120_000);

  it.each([
    [['--camera', 'genicam:'], 'say with --trigger'],
    [['--camera', 'simulated', '--trigger', 'bell'], 'none of stage'],
    [['--camera', 'simulated', '--trigger', 'at-once', '--untold'], 'belong to --trigger stage'],
    [['--camera', 'simulated', '--distances', '340,-2'], 'working distances in mm'],
    [['--camera', 'simulated', '--roi', '0,0,90,90', '--roi', '9,9,90,90'], 'takes one --roi'],
    [['--camera', 'simulated', '--calibration', 'no-such.json', '--parts', '1'], 'calibration cannot be used'],
    [['--camera', 'simulated', '--roi', '0,0,40,90', '--parts', '1'], 'at least 64 × 64 px'],
    [['--camera', 'simulated', '--trigger', 'line:Line1', '--parts', '1'], 'does not take this setting'],
  ])('refuses: %j with exit code 2', async (args, says) => {
    const { code, stderr } = await focuswright(['follow', ...args]);
    expect([code, stderr]).toEqual([2, expect.stringContaining(says)]);
  });
});
