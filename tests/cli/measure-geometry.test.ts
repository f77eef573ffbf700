import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { encodeTiff } from '../../src/image/index.js';
import { predictedPixelMm, readStation } from '../../src/station/index.js';
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

describe('measure grid of a folder', () => {
  const powersDpt = [-1, 0, 1];
  const workingDistanceMm = 430;
  const perDpt = -0.012;

  /** Frames of discs whose pitch on the picture grows with power; the last one is blank. */
  function writeFrames(): string {
    const place = join(base, 'sweep');
    mkdirSync(place);
    const rows = [...powersDpt, 2].map((power) => {
      const pitchPx = 30 / (1 + perDpt * power);
      const [widthPx, heightPx] = [400, 300];
      const data = new Uint8Array(widthPx * heightPx).fill(200);
      if (power < 2) {
        for (let i = 0; i < data.length; i++) {
          const [u, v] = [((i % widthPx) - 200.3) / pitchPx, (Math.floor(i / widthPx) - 150.1) / pitchPx];
          const far = Math.hypot(u - Math.round(u), v - Math.round(v)) * pitchPx;
          data[i] = Math.round(200 - 160 / (1 + Math.exp(-1.7 * (8 - far))));
        }
      }
      writeFileSync(join(place, `p${power}.tif`), encodeTiff({ widthPx, heightPx, bitDepth: 8, data }));
      return `p${power}.tif,${power},${workingDistanceMm}`;
    });
    writeFileSync(join(place, 'frames.csv'), `file,focalPowerDpt,workingDistanceMm\n${rows.join('\n')}\n`);
    return place;
  }

  it('closed form: scale over power with its line, beside the breathing that the station predicts, with figure', async () => {
    const place = writeFrames();
    const svg = join(base, 'breathing.svg');
    const args = ['measure', 'grid', place, '--pitch-mm', '2', '--station', 'glaze-line', '--svg', svg];
    const { code, stdout } = await focuswright([...args, '--json']);
    expect(code).toBe(0);
    const { change, predicted, frames } = JSON.parse(stdout);
    expect(change.pixelMm.value).toBeCloseTo((2 / 30) * (1 + perDpt * change.meanPowerDpt), 6);
    expect(change.relativePerDpt.value).toBeCloseTo(perDpt / (1 + perDpt * change.meanPowerDpt), 4);
    expect(frames.map(({ refusal }: { refusal: string | null }) => refusal === null)).toEqual([
      true,
      true,
      true,
      false,
    ]);
    const station = readStation(readFileSync('stations/glaze-line.yaml', 'utf8'), { fileName: 'glaze-line' });
    const [low, high] = [-1, 1].map((focalPowerDpt) => predictedPixelMm({ station, workingDistanceMm, focalPowerDpt }));
    expect(frames[0].predictedPixelMm).toBeCloseTo(low!, 12);
    expect(predicted.pixelMmPerDpt.value).toBeCloseTo((high! - low!) / 2, 4);
    expect(readFileSync(svg, 'utf8')).toContain('per dioptre of focal power');
    const text = await focuswright(args);
    expect(text.stdout).toMatch(/−1\.\d+\s.*% per dpt[\s\S]*predicted by the station: .*[\s\S]*No regular grid/);
  });

  it('refuses a folder with one readable frame with exit code 5, and options that do not fit with 2', async () => {
    const place = join(base, 'single');
    mkdirSync(place);
    copyFileSync(`${folder}/dots_plain.png`, join(place, 'a.png'));
    writeFileSync(join(place, 'frames.csv'), 'file,focalPowerDpt,workingDistanceMm\na.png,0,430\n');
    const one = await focuswright(['measure', 'grid', place, '--pitch-mm', '1']);
    expect([one.code, one.stdout]).toEqual([5, expect.stringContaining('at one focal power only')]);
    for (const wrong of [
      [`${folder}/dots_plain.png`, '--station', 'glaze-line'],
      [`${folder}/dots_plain.png`, '--distance-mm', '400'],
      [place, '--page', '2'],
    ]) {
      expect((await focuswright(['measure', 'grid', ...wrong, '--pitch-mm', '1'])).code).toBe(2);
    }
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
