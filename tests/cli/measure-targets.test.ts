import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeImage, encodePng, measureBars, readEdges } from '../../src/image/index.js';
import { focuswright } from './run-cli.js';

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-targets-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

const edge = 'references/edge-set/edge-0003.png';
const two = 'references/recorded-frames/d250_08.png';
const target = 'references/bars/target-000.png';
const { umPerPx } = JSON.parse(readFileSync('references/bars/truth.json', 'utf8')).targets[0];

describe('focuswright measure edge', () => {
  it('property: --json is the library record, with line pairs per mm where pitch and magnification are given', async () => {
    const { stdout, code } = await focuswright([
      ...['measure', 'edge', edge, '--pixel-pitch-um', '3.45', '--magnification', '0.2', '--json'],
    ]);
    expect(code).toBe(0);
    const result = JSON.parse(stdout);
    const expected = readEdges({ image: decodeImage(readFileSync(edge)), pixelPitchUm: 3.45, magnification: 0.2 });
    expect(result).toMatchObject(JSON.parse(JSON.stringify(expected)));
    expect(result.mtf50SensorPerMm).toBeCloseTo(result.mtf50PerPx / 0.00345, 9);
    expect(result.mtf[20].objectPerMm).toBeCloseTo((0.2 * 0.2) / 0.00345, 9);
    expect(result.mtf[0]).toMatchObject({ frequencyPerPx: 0, value: 1 });
  });

  it('property: one colour of a Bayer mosaic is measured as a picture of its own, its pixels twice the pitch apart', async () => {
    const plane = decodeImage(readFileSync(edge));
    const [widthPx, heightPx] = [2 * plane.widthPx, 2 * plane.heightPx];
    // Green of the rows with blue stands at the left of every second row where red begins.
    const data = (plane.bitDepth === 8 ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx)).fill(
      40,
    );
    plane.data.forEach((value, i) => {
      const [x, y] = [i % plane.widthPx, Math.floor(i / plane.widthPx)];
      data[(2 * y + 1) * widthPx + 2 * x] = value;
    });
    const mosaic = join(base, 'mosaic.png');
    writeFileSync(mosaic, encodePng({ widthPx, heightPx, bitDepth: plane.bitDepth, data }));
    const bayer = ['measure', 'edge', mosaic, '--bayer', 'RG', '--colour', 'green-blue'];
    const { code, stdout } = await focuswright([...bayer, '--pixel-pitch-um', '2', '--json']);
    expect(code).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject(JSON.parse(JSON.stringify(readEdges({ image: plane, pixelPitchUm: 4 }))));
    const red = await focuswright(['measure', 'edge', mosaic, '--bayer', 'RG', '--colour', 'red']);
    expect(red.code).toBe(5);
    const outside = await focuswright([...bayer, '--roi', `0,0,${widthPx},20`]);
    expect([outside.code, outside.stderr]).toEqual([
      2,
      expect.stringContaining(`${plane.widthPx} × ${plane.heightPx}`),
    ]);
    expect((await focuswright(['measure', 'edge', mosaic, '--bayer', 'RGGB'])).stderr).toContain('RG, GR, GB, BG');
  });

  it('property: without a region both edges of a frame are found; with one, that region is measured', async () => {
    const { stdout } = await focuswright(['measure', 'edge', two, '--json']);
    const all = JSON.parse(stdout);
    expect(all.edges.map((found: { orientation: string }) => found.orientation).sort()).toEqual([
      'near-horizontal',
      'near-vertical',
    ]);
    const { xPx, yPx, widthPx, heightPx } = all.edges[1].region;
    const one = await focuswright(['measure', 'edge', two, '--roi', `${xPx},${yPx},${widthPx},${heightPx}`]);
    expect(one.stdout).toContain(all.edges[1].orientation);
  });

  it('refuses a target without a tilted edge with exit code 5, and a magnification without a pitch with 2', async () => {
    const { code, stdout } = await focuswright([
      'measure',
      'edge',
      'references/bars/textures/texture-000.png',
      '--json',
    ]);
    expect(code).toBe(5);
    expect(JSON.parse(stdout)).toMatchObject({
      kind: 'refused',
      reason: expect.any(String),
      remedy: expect.any(String),
    });
    expect((await focuswright(['measure', 'edge', edge, '--magnification', '0.2'])).code).toBe(2);
  });

  it('property: pictures in both kinds; another ending, or a folder that is missing, leaves nothing behind', async () => {
    for (const ending of ['png', 'svg']) {
      const file = join(base, `edges.${ending}`);
      expect((await focuswright(['measure', 'edge', two, '--picture', file])).code).toBe(0);
      const bytes = readFileSync(file);
      expect(ending === 'png' ? bytes.subarray(1, 4).toString() : bytes.subarray(0, 5).toString()).toBe(
        ending === 'png' ? 'PNG' : '<?xml',
      );
    }
    for (const file of [join(base, 'edges.gif'), join(base, 'none', 'edges.png')]) {
      const { code, stderr } = await focuswright(['measure', 'edge', two, '--picture', file]);
      expect([code, existsSync(file)]).toEqual([2, false]);
      expect(stderr).toContain('picture');
    }
  });
});

describe('focuswright measure bars', () => {
  it('property: --json is the library record; text and picture name the last resolved element', async () => {
    const picture = join(base, 'bars.svg');
    const scale = ['--um-per-px', String(umPerPx)];
    const { stdout, code } = await focuswright(['measure', 'bars', target, ...scale, '--json', '--picture', picture]);
    expect(code).toBe(0);
    const expected = measureBars({ image: decodeImage(readFileSync(target)), umPerPx });
    expect(JSON.parse(stdout)).toMatchObject(JSON.parse(JSON.stringify(expected)));
    const { group, element } = JSON.parse(stdout).lastResolved;
    const name = `group ${group} element ${element}`;
    expect(readFileSync(picture, 'utf8')).toContain(name);
    expect((await focuswright(['measure', 'bars', target, ...scale])).stdout.replace('−', '-')).toContain(name);
  });

  it('refuses a frame without bars with exit code 5, and a missing or bad scale with 2', async () => {
    expect((await focuswright(['measure', 'bars', edge, '--um-per-px', '5'])).code).toBe(5);
    expect((await focuswright(['measure', 'bars', target])).code).toBe(2);
    expect((await focuswright(['measure', 'bars', target, '--um-per-px', '0'])).code).toBe(2);
  });
});
