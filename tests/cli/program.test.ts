import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-cli-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

interface Ended {
  code: number | null;
  stdout: string;
  stderr: string;
}

/** Runs the built command; `during` sees standard error as it grows and may interrupt. */
function focuswright(args: string[], during?: (stderr: string, interrupt: () => void) => void): Promise<Ended> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, ['dist/cli/main.js', ...args]);
    let stdout = '';
    let stderr = '';
    child.stdout.on('data', (chunk) => {
      stdout += chunk;
    });
    child.stderr.on('data', (chunk) => {
      stderr += chunk;
      during?.(stderr, () => child.kill('SIGINT'));
    });
    child.on('close', (code) => resolve({ code, stdout, stderr }));
  });
}

describe('command line', () => {
  it('property: help lists every command and exit code; each command has its own help', async () => {
    const { stdout, code } = await focuswright(['--help']);
    expect(code).toBe(0);
    for (const word of ['stations', 'schema', 'plan', 'commission', 'serve', 'Exit codes', '130'])
      expect(stdout).toContain(word);
    expect((await focuswright(['commission', '--help'])).stdout).toMatch(/frames:DIR[\s\S]*--out/);
  });

  it('property: plan --json has the promised keys, on standard output alone, without colour codes', async () => {
    const { stdout, stderr, code } = await focuswright(['plan', 'glaze-line', '--json']);
    expect([code, stderr]).toEqual([0, '']);
    const plan = JSON.parse(stdout);
    expect(plan).toMatchObject({
      verdict: expect.stringMatching(/^(meets|marginal|fails)$/),
      reach: { nearMm: expect.any(Number) },
    });
    expect(plan.reach).toHaveProperty('farMm');
    expect(plan.reasons.length).toBeGreaterThan(0);
    for (const plane of plan.planes) {
      for (const key of [
        'workingDistanceMm',
        'focalPowerDpt',
        'magnification',
        'fieldWidthMm',
        'fieldHeightMm',
        'workingFNumber',
        'depthOfFieldMm',
        'mtfAtTask',
      ]) {
        expect(plane[key]).toEqual(expect.any(Number));
      }
    }
    expect((await focuswright(['plan', 'glaze-line'])).stdout).not.toContain('\u001b');
  });

  it('closed form: --require turns the verdict into an exit code', async () => {
    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8').replace('farMm: 545', 'farMm: 5450');
    writeFileSync(join(base, 'far.yaml'), yaml);
    expect((await focuswright(['plan', join(base, 'far.yaml')])).code).toBe(0);
    expect((await focuswright(['plan', join(base, 'far.yaml'), '--require', 'marginal'])).code).toBe(4);
  });

  it('refuses wrong use and wrong files with 2, the remedy on standard error and the error as JSON where asked', async () => {
    writeFileSync(join(base, 'bad.yaml'), 'station: [\n');
    for (const [args, text] of [
      [['plan', 'none.yaml'], /station-unreadable|cannot be read[\s\S]*glaze-line/],
      [['plan', join(base, 'bad.yaml')], /bad\.yaml:/],
      [['plan'], /missing required argument/],
      [['plan', 'glaze-line', '--require', 'perfect'], /Allowed choices/],
      [['commission', 'glaze-line'], /--camera/],
      [['commission', 'glaze-line', '--camera', 'simulated', '--seed', '-1'], /whole number/],
      [['commission', 'glaze-line', '--camera', 'frames:/nowhere', '--out', join(base, 'x')], /does not exist/],
      [
        ['commission', 'glaze-line', '--camera', 'frames:references/recorded-frames', '--seed', '3', '--out', 'never'],
        /--seed belongs to --camera simulated/,
      ],
      [['serve', '--port', '0', '--runs', '/dev/null/runs'], /--runs/],
      [['fly'], /unknown command/],
    ] as const) {
      const { code, stderr } = await focuswright([...args]);
      expect([args, code]).toEqual([args, 2]);
      expect(stderr).toMatch(text);
    }
    const { stdout } = await focuswright(['plan', 'none.yaml', '--json']);
    expect(JSON.parse(stdout)).toMatchObject({ error: { code: 'station-unreadable', remedy: expect.any(String) } });
  });

  it('property: Ctrl-C parks, saves what was measured and ends with 130', async () => {
    const out = join(base, 'cancelled');
    const { code, stderr } = await focuswright(
      ['commission', 'glaze-line', '--camera', 'simulated', '--out', out],
      (text, interrupt) => {
        if (text.includes('Find best focus') && !text.includes('cancelling')) interrupt();
      },
    );
    expect([code, stderr]).toEqual([130, expect.stringContaining('parked')]);
    const record = JSON.parse(readFileSync(join(out, 'results.json'), 'utf8'));
    expect(record).toMatchObject({ state: 'cancelled', kind: 'commission' });
    expect(record.frames.length).toBeGreaterThan(5);
    expect(existsSync(join(out, 'report.html'))).toBe(true);
  });

  it('closed form: schema prints the published schema; stations lists and prints', async () => {
    expect(JSON.parse((await focuswright(['schema'])).stdout)).toEqual(
      JSON.parse(readFileSync('schema/station.schema.json', 'utf8')),
    );
    expect((await focuswright(['stations'])).stdout).toMatch(/glaze-line[\s\S]*relay-pins[\s\S]*vial-stopper/);
    expect((await focuswright(['stations', 'relay-pins'])).stdout).toBe(
      readFileSync('stations/relay-pins.yaml', 'utf8'),
    );
    expect(JSON.parse((await focuswright(['stations', 'relay-pins', '--json'])).stdout)).toMatchObject({
      station: 'relay-pins',
      task: { nearMm: expect.any(Number) },
    });
  });

  it('property: plan lists what fails first, says each verdict once, and writes minus signs', async () => {
    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8').replace(/cycleTimeMs: \S+/, 'cycleTimeMs: 5');
    writeFileSync(join(base, 'slow.yaml'), yaml);
    const { stdout } = await focuswright(['plan', join(base, 'slow.yaml')]);
    const verdicts = [...stdout.matchAll(/^. (fails|marginal|unknown|meets) {2}/gmu)].map(([, verdict]) => verdict);
    const rank = ['fails', 'marginal', 'unknown', 'meets'];
    expect(verdicts[0]).toBe('fails');
    expect(verdicts).toEqual([...verdicts].sort((a, b) => rank.indexOf(a!) - rank.indexOf(b!)));
    expect(stdout).not.toContain('Fails: ');
    expect(stdout).toContain('powers −2 to 3 dpt');
    expect(stdout).not.toMatch(/(^|[\s(±])-\d/m);
  });
});
