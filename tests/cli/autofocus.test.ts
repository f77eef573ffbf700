import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { focusMethodNames } from '../../src/station/index.js';
import { focuswright } from './run-cli.js';

const recorded = ['autofocus', '--camera', 'frames:references/recorded-frames', '--distance', '250'];

describe('focuswright autofocus', () => {
  it('recovery: finds the recorded best focus, says each frame on standard error and leaves the lens there', async () => {
    const { code, stdout, stderr } = await focuswright([...recorded, '--method', 'full-sweep']);
    expect(code).toBe(0);
    expect(stdout).toMatch(/Best focus 2\.1\d\d ± 0\.0\d\d dpt/);
    expect(stdout).toContain('The lens stays at 2.1');
    expect(stderr.match(/^ {2}look/gm)!.length).toBeGreaterThan(5);
    expect(stderr.match(/^ {2}confirm/gm)).toHaveLength(1);
  });

  it('property: --json is the record, alone on standard output; --park parks', async () => {
    const { stdout } = await focuswright([
      ...recorded,
      '--method',
      'full-sweep',
      '--fit',
      'parabola',
      '--park',
      '--json',
    ]);
    const report = JSON.parse(stdout);
    expect(report).toMatchObject({ station: null, parked: true, choice: 'nearest', chosenIndex: 0 });
    expect(report.results[0]).toMatchObject({
      kind: 'found',
      method: 'full-sweep',
      confirmation: { measured: expect.any(Number) },
    });
  });

  it('property: several regions have an answer each; each parks the lens, nearest stays at the highest power', async () => {
    const regions = ['--roi', '0,0,160,256', '--roi', '160,0,160,256'];
    const json = async (combine: string) =>
      JSON.parse(
        (await focuswright([...recorded, '--method', 'full-sweep', ...regions, '--combine', combine, '--json'])).stdout,
      );
    const each = await json('each');
    expect(each.results).toHaveLength(2);
    expect(each).toMatchObject({ chosenIndex: null, parked: true });
    const nearest = await json('nearest');
    const powers = nearest.results.map(({ focalPowerDpt }: { focalPowerDpt: number }) => focalPowerDpt);
    expect(nearest.results[nearest.chosenIndex].focalPowerDpt).toBe(Math.max(...powers));
    expect(nearest.lensDpt).toBe(Math.max(...powers));
  });

  it('refuses: powers that end before best focus, with exit code 5 and the lens parked', async () => {
    const { code, stdout } = await focuswright([...recorded, '--method', 'full-sweep', '--range', '1.69,1.99']);
    expect(code).toBe(5);
    expect(stdout).toMatch(/Refused \(out-of-range\)/);
    expect(stdout).toContain('The lens is parked');
  });

  it('property: a recorded search is run again from its folder to the same result, times included', async () => {
    const folder = join(mkdtempSync(join(tmpdir(), 'focuswright-record-')), 'search');
    const search = ['autofocus', '--station', 'relay-pins', '--distance', '140', '--json'];
    const first = await focuswright([...search, '--camera', 'simulated', '--record', folder]);
    expect(first.code).toBe(0);
    const again = await focuswright([...search, '--camera', `replay:${folder}`]);
    const [{ recordedIn, ...recorded }, { recordedIn: none, ...replayed }] = [first, again].map(({ stdout }) =>
      JSON.parse(stdout),
    );
    expect(recordedIn).toBe(folder);
    expect(none).toBeNull();
    expect(replayed).toEqual(recorded);
    const rows = readFileSync(join(folder, 'frames', 'frames.csv'), 'utf8')
      .trim()
      .split('\n');
    expect(rows.length - 1).toBe(recorded.results[0].frames);
    // A folder that holds something is not written over.
    expect((await focuswright([...search, '--camera', 'simulated', '--record', folder])).code).toBe(2);
    rmSync(dirname(folder), { recursive: true });
  });

  it('recovery: recorded frames without a station are searched among the powers of the distance asked for', async () => {
    const search = ['autofocus', '--camera', 'frames:references/recorded-frames', '--distance', '400', '--json'];
    const { code, stdout } = await focuswright(search);
    expect(code).toBe(0);
    const [result] = JSON.parse(stdout).results;
    const rows = readFileSync('references/recorded-frames/frames.csv', 'utf8').trim().split('\n').slice(1);
    const powersDpt = rows
      .map((row) => row.split(',').map(Number))
      .flatMap(([, dpt, mm]) => (mm === 400 ? [dpt!] : []));
    expect(result.focalPowerDpt).toBeGreaterThan(Math.min(...powersDpt));
    expect(result.focalPowerDpt).toBeLessThan(Math.max(...powersDpt));
  });

  it('refuses: a camera that sends one picture for all powers is device trouble, with exit code 3', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'focuswright-same-'));
    cpSync('references/recorded-frames/d250_01.png', join(folder, 'same.png'));
    const rows = [1.69, 1.83, 1.97, 2.11, 2.25].map((powerDpt) => `same.png,${powerDpt},250,25.0,1`);
    const head = 'file,focalPowerDpt,workingDistanceMm,temperatureDegC,exposureMs';
    writeFileSync(join(folder, 'frames.csv'), [head, ...rows, ''].join('\n'));
    const { code, stdout } = await focuswright(['autofocus', '--camera', `frames:${folder}`, '--method', 'full-sweep']);
    rmSync(folder, { recursive: true });
    expect(stdout).toMatch(/Refused \(device\)/);
    expect(code).toBe(3);
  });

  it.each([
    [['--roi', '200,100,256,256'], 'does not lie inside'],
    [['--roi', '0,0,20,200'], 'too small'],
    [['--roi', '1,2,3'], 'x,y,w,h'],
    [['--range', '-40,2'], 'outside the limits'],
    [['--range', '2,1'], 'low,high'],
    [['--method', 'guess'], 'model'],
    [['--method', 'fibonacci', '--fit', 'parabola'], '--fit belongs to'],
    [['--seed', '3'], '--seed belongs to'],
    [['--station', 'no-such-station'], 'station'],
  ])('refuses: %j with exit code 2 before anything moves', async (args, says) => {
    const { code, stderr, stdout } = await focuswright([...recorded, ...args]);
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain(says);
  });

  it('property: the page of commands names every method', () => {
    const page = readFileSync('docs/cli/commands.md', 'utf8');
    for (const name of focusMethodNames) expect(page).toContain(`\`${name}\``);
  });
});
