import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse, stringify } from 'yaml';
import type { SearchRecord } from '../../src/station/index.js';
import { focuswright } from './run-cli.js';

let folder: string;
/** A library of a few shipped parts, so that a search takes a moment. */
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'focuswright-search-'));
  const some = (file: string, list: string, indices: number[]) =>
    indices.map((i) => parse(readFileSync(`parts/${file}.yaml`, 'utf8'))[list][i]);
  const library = {
    format: 1,
    sensors: some('sensors', 'sensors', [0, 8]),
    fixedLenses: some('fixed-lenses', 'fixedLenses', [5, 9]),
    tunableLenses: some('tunable-lenses', 'tunableLenses', [3, 8]),
    spacers: some('spacers', 'spacers', [0, 2]),
    lights: some('lights', 'lights', [0]),
  };
  writeFileSync(join(folder, 'parts.yaml'), stringify(library));
  writeFileSync(join(folder, 'empty.yaml'), 'format: 1\nsensors: []\n');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const parts = () => ['--parts', join(folder, 'parts.yaml'), '--rings', '40'];

describe('search on the command line', () => {
  it('property: table of the ranked layouts, and the best of them written as a station that meets the task', async () => {
    const out = join(folder, 'best.yaml');
    const searched = await focuswright([
      'search',
      'glaze-line',
      ...parts(),
      '--threads',
      '1',
      '--save',
      '1',
      '--out',
      out,
    ]);
    expect(searched.code).toBe(0);
    expect(searched.stdout).toMatch(/Layouts that meet the task, /);
    expect(searched.stdout).toMatch(/^1 \* +Sensor/m);
    expect(searched.stderr).toMatch(/search: 100 % of \d+ pairs of lenses/);
    const planned = await focuswright(['plan', out, '--json', '--require', 'meets']);
    expect(planned.code).toBe(0);
    expect(JSON.parse(planned.stdout).verdict).toBe('meets');
    const again = await focuswright([
      'search',
      'glaze-line',
      ...parts(),
      '--threads',
      '1',
      '--save',
      '1',
      '--out',
      out,
    ]);
    expect(again.code).not.toBe(0);
    expect(again.stderr).toContain(out);
  });

  it('property: two threads find what one finds, to the last digit', () => {
    const [one, two] = ['1', '2'].map((threads): SearchRecord => {
      const ended = spawnSync(
        process.execPath,
        ['dist/cli/main.js', 'search', 'glaze-line', ...parts(), '--threads', threads, '--json'],
        { encoding: 'utf8' },
      );
      expect([ended.status, ended.stderr.includes('100 %')]).toEqual([0, true]);
      return JSON.parse(ended.stdout);
    });
    expect(two).toEqual(one);
    expect(one!.layouts.length).toBeGreaterThan(0);
  });

  it('refuses an empty library, a missing one and --save without --out, each with its own words', async () => {
    const empty = await focuswright(['search', 'glaze-line', '--parts', join(folder, 'empty.yaml')]);
    expect(empty.code).not.toBe(0);
    expect(empty.stderr).toMatch(/no tunable lens/);
    const missing = await focuswright(['search', 'glaze-line', '--parts', join(folder, 'nowhere')]);
    expect(missing.stderr).toMatch(/cannot be read.*nowhere/);
    const alone = await focuswright(['search', 'glaze-line', ...parts(), '--save', '1']);
    expect(alone.code).not.toBe(0);
    expect(alone.stderr).toMatch(/--save and --out go together/);
  });
});
