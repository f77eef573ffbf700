import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { commissionStation, loadStation, openBench } from '../../src/app/index.js';
import { neverCancelled } from '../../src/base/index.js';
import type { RunEvent } from '../../src/protocol/index.js';
import { runSteps } from '../../src/protocol/index.js';
import type { AutofocusRecord, CommissionRecord } from '../../src/station/index.js';
import { recordedTruth } from '../references/truth.js';

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-app-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

const recordedStation = 'references/recorded-frames/station.yaml';

async function commission(stationPath: string, cameraAddress: string, out: string, seed?: number) {
  const events: RunEvent[] = [];
  const loaded = await loadStation(stationPath);
  const outcome = await commissionStation({
    loaded,
    cameraAddress,
    outFolder: join(base, out),
    seed,
    observer: (event) => events.push(event),
    signal: neverCancelled,
  });
  return { ...outcome, events };
}

const found = (records: readonly AutofocusRecord[]) => records.flatMap((r) => (r.kind === 'found' ? [r] : []));
/** What a reader would compare: every number, without names of files and devices. */
const numbers = ({ autofocus, calibration, resolution }: CommissionRecord) => ({
  focus: found(autofocus).map((r) => [r.workingDistanceMm, r.focalPowerDpt, r.focalPowerStdDpt]),
  calibration: calibration?.kind === 'fitted' ? calibration.parameters.map((p) => p.fitted) : calibration,
  resolution: resolution.map(({ result }) =>
    result.kind === 'measured' ? [result.edgeAngleDeg, result.mtf] : result.reason,
  ),
});

describe('commissioning, whole', () => {
  it('recovery: frames made by numpy give their best focus back, and the handover holds what is promised', async () => {
    const { record, folder, events } = await commission(
      recordedStation,
      'frames:references/recorded-frames',
      'recorded',
    );
    expect(record.state).toBe('complete');
    const truth = recordedTruth();
    expect(found(record.autofocus)).toHaveLength(truth.distances.length);
    for (const result of found(record.autofocus)) {
      const at = truth.distances.find((d) => d.workingDistanceMm === result.workingDistanceMm)!;
      expect(Math.abs(result.focalPowerDpt - at.bestFocusDpt)).toBeLessThan(0.1 * at.quarterWaveHalfWidthDpt);
    }
    expect(readdirSync(folder).sort()).toEqual([
      'SHA256SUMS',
      'frames',
      'plan.json',
      'recording.json',
      'report.html',
      'results.json',
      'station.yaml',
    ]);
    expect(readFileSync(join(folder, 'station.yaml'), 'utf8')).toBe(readFileSync(recordedStation, 'utf8'));
    expect(JSON.parse(readFileSync(join(folder, 'results.json'), 'utf8'))).toEqual(JSON.parse(JSON.stringify(record)));
    expect(record.frames.length).toBeGreaterThan(50);
    expect(record.frames.every(({ file }) => existsSync(join(folder, file)))).toBe(true);
    const started = events.flatMap((event) => (event.type === 'step-started' ? [event.step] : []));
    expect(started).toEqual(runSteps.filter((step) => started.includes(step)));
    expect(started).toEqual(expect.arrayContaining(['identify', 'sweep', 'distance-calibration', 'resolution-check']));
  });

  it('recovery: a handover of the simulated station computes again from its own frames to the same numbers', {
    timeout: 120_000,
  }, async () => {
    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8')
      .replace('widthPx: 1280', 'widthPx: 640')
      .replace('heightPx: 1024', 'heightPx: 512');
    const path = join(base, 'small.yaml');
    writeFileSync(path, yaml);
    const first = await commission(path, 'simulated', 'first', 5);
    expect(first.record).toMatchObject({ state: 'complete', simulated: true });
    const again = await commission(
      join(first.folder, 'station.yaml'),
      `frames:${join(first.folder, 'frames')}`,
      'again',
    );
    expect(again.record).toMatchObject({ simulated: true, device: { id: 'frames:frames' } });
    const expected = numbers(first.record);
    const recomputed = numbers(again.record);
    expect(recomputed.focus.length).toBe(expected.focus.length);
    for (const [i, [distance, power, std]] of expected.focus.entries()) {
      expect(recomputed.focus[i]![0]).toBeCloseTo(distance!, 6);
      // The same frames; where a power was visited twice, the sweep may take the other one.
      expect(Math.abs(recomputed.focus[i]![1]! - power!)).toBeLessThan(std! / 2);
    }
    expect(recomputed.resolution.length).toBe(expected.resolution.length);
  });

  it('property: the same seed gives the same record to the byte, another seed another station', {
    timeout: 120_000,
  }, async () => {
    const path = join(base, 'small.yaml');
    const [a, b, c] = [
      await commission(path, 'simulated', 'a', 9),
      await commission(path, 'simulated', 'b', 9),
      await commission(path, 'simulated', 'c', 10),
    ];
    const undated = ({ startedOn, ...rest }: CommissionRecord) => {
      expect(new Date(startedOn).toISOString()).toBe(startedOn);
      return JSON.stringify(rest);
    };
    expect(undated(b.record)).toBe(undated(a.record));
    expect(a.record.format).toBe(1);
    expect(numbers(c.record).focus).not.toEqual(numbers(a.record).focus);
  });

  it('recovery: an error in the program mid-run is thrown on, once the handover of what was measured is written', async () => {
    const path = join(base, 'broken.yaml');
    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
    writeFileSync(path, yaml.replace('widthPx: 1280', 'widthPx: 320').replace('heightPx: 1024', 'heightPx: 256'));
    const folder = join(base, 'broken');
    let points = 0;
    const broken = commissionStation({
      loaded: await loadStation(path),
      cameraAddress: 'simulated',
      outFolder: folder,
      observer: ({ type }) => {
        if (type === 'sweep-point' && ++points === 12) throw new TypeError('broken observer');
      },
      signal: neverCancelled,
    });
    await expect(broken).rejects.toThrow(new TypeError('broken observer'));
    for (const name of ['report.html', 'plan.json', 'station.yaml', 'SHA256SUMS', 'frames/frames.csv'])
      expect(existsSync(join(folder, name)), name).toBe(true);
    const record: CommissionRecord = JSON.parse(readFileSync(join(folder, 'results.json'), 'utf8'));
    expect(record).toMatchObject({ state: 'failed', stateReason: expect.stringContaining('broken observer') });
    expect(record.frames.length).toBeGreaterThanOrEqual(12);
    expect(readFileSync(join(folder, 'frames/frames.csv'), 'utf8').trim().split('\n')).toHaveLength(
      record.frames.length + 1,
    );
  });

  it('property: a station whose plan fails is not said to meet, with measured and predicted told apart', {
    timeout: 120_000,
  }, async () => {
    const path = join(base, 'too-fast.yaml');
    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8')
      .replace('widthPx: 1280', 'widthPx: 320')
      .replace('heightPx: 1024', 'heightPx: 256')
      .replace(/cycleTimeMs: \S+/, 'cycleTimeMs: 5');
    expect(yaml).toContain('cycleTimeMs: 5');
    writeFileSync(path, yaml);
    const { record, folder } = await commission(path, 'simulated', 'too-fast');
    expect(record.verdict).toBe('fails');
    expect(record.ledger.find(({ key }) => key === 'timing.cycle')).toMatchObject({
      verdict: 'fails',
      measuredInWords: 'not measured',
    });
    const report = readFileSync(join(folder, 'report.html'), 'utf8');
    expect(report).toMatch(/Of \d+ quantities \d+ were measured and \d+ rest on prediction alone/);
    expect(report).not.toContain('Every requirement of the task is met');
  });

  it('degenerate: recorded frames whose table tells no exposure: unknown everywhere, and nothing is called adjusted', {
    timeout: 120_000,
  }, async () => {
    const frames = join(base, 'unexposed');
    cpSync('references/recorded-frames', frames, { recursive: true });
    const table = join(frames, 'frames.csv');
    const csv = readFileSync(table, 'utf8').replace('exposureMs', 'note');
    expect(csv).toContain('note');
    writeFileSync(table, csv);
    const { record, folder } = await commission(recordedStation, `frames:${frames}`, 'of-unexposed');
    expect(record.frames.every(({ exposureMs }) => exposureMs === null)).toBe(true);
    expect(record.provenance.parameters.exposureMs).toBeNull();
    const row = record.ledger.find(({ key }) => key === 'light.meanGrey')!;
    expect(row.reason).toContain('does not tell its exposure');
    expect(`${row.reason}${row.remedy}`).not.toContain('adjusted');
    expect(readFileSync(join(folder, 'report.html'), 'utf8')).toContain('not known');
    const [header, first] = readFileSync(join(folder, 'frames/frames.csv'), 'utf8').split('\n');
    expect(first!.split(',')[header!.split(',').indexOf('exposureMs')]).toBe('');
  });

  it('refuses an unknown address, and an output folder that cannot be used, before anything is measured', async () => {
    const { station } = await loadStation('glaze-line');
    await expect(openBench('usb:1', { station, seed: 1 })).rejects.toMatchObject({
      code: 'camera-address-unknown',
      message: /simulated/,
    });
    await expect(openBench('frames:', { station, seed: 1 })).rejects.toMatchObject({ code: 'camera-address-unknown' });
    writeFileSync(join(base, 'a-file'), 'x');
    await expect(commission('glaze-line', 'simulated', 'a-file')).rejects.toMatchObject({
      code: 'output-not-writable',
    });
    await expect(commission('glaze-line', 'frames:none', 'never')).rejects.toMatchObject({
      code: 'frames-folder-missing',
    });
    expect(existsSync(join(base, 'never'))).toBe(false);
  });
});
