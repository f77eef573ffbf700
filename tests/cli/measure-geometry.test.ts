import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { focuswright } from './run-cli.js';

const folder = 'references/targets-geometry';
let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-geometry-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

describe('measure grid', () => {
  it('reference: scale of a rendered grid as JSON and as text, with its figure', async () => {
    const svg = join(base, 'grid.svg');
    const args = ['measure', 'grid', `${folder}/dots_plain.png`, '--pitch-mm', '0.5'];
    const { code, stdout } = await focuswright([...args, '--svg', svg, '--json']);
    expect(code).toBe(0);
    const record = JSON.parse(stdout);
    expect(record).toMatchObject({ kind: 'measured', pattern: 'dots', pitchMm: 0.5, widthPx: 400, heightPx: 320 });
    expect(record.pixelMm.value).toBeCloseTo(0.025, 5);
    expect(readFileSync(svg, 'utf8')).toContain('<svg');
    expect((await focuswright(args)).stdout).toContain('a pixel in the middle is 0.02500');
  });

  it('refuses a picture without a grid, a truncated file, a missing pitch', async () => {
    const star = await focuswright(['measure', 'grid', `${folder}/star_sine.png`, '--pitch-mm', '1']);
    expect([star.code, star.stdout]).toEqual([5, expect.stringContaining('No regular grid')]);
    const cut = join(base, 'cut.png');
    writeFileSync(cut, readFileSync(`${folder}/dots_plain.png`).subarray(0, 5000));
    expect((await focuswright(['measure', 'grid', cut, '--pitch-mm', '1'])).code).toBe(2);
    expect((await focuswright(['measure', 'grid', cut])).code).toBe(2);
  });
});

describe('measure star', () => {
  const image = `${folder}/star_astigmatic.png`;

  it('reference: astigmatism of a rendered star as JSON and as text, with its figure', async () => {
    const svg = join(base, 'star.svg');
    const { code, stdout } = await focuswright(['measure', 'star', image, '--sectors', '36', '--svg', svg, '--json']);
    expect(code).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({
      kind: 'measured',
      cycles: 36,
      astigmatism: { sharpestDirectionDeg: 0 },
    });
    expect(readFileSync(svg, 'utf8')).toContain('depending on direction');
    const off = await focuswright(['measure', 'star', image, '--sectors', '36', '--axis', '20,150']);
    expect(off.stdout).toContain('off the axis: tangential 0.2');
  });

  it('refuses a wrong count with exit code 5, and a centre outside the picture with 2', async () => {
    const svg = join(base, 'none.svg');
    const wrong = await focuswright(['measure', 'star', image, '--sectors', '30', '--svg', svg]);
    expect([wrong.code, wrong.stdout]).toEqual([5, expect.stringContaining('--sectors 36')]);
    expect(existsSync(svg)).toBe(false);
    const outside = await focuswright(['measure', 'star', image, '--sectors', '36', '--centre', '900,3']);
    expect([outside.code, outside.stderr]).toEqual([2, expect.stringContaining('(900, 3) px')]);
  });
});
