import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeImage, encodePng, encodeTiff, measureFocus } from '../../src/image/index.js';
import { focuswright } from './run-cli.js';

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-measure-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

const frame = 'references/recorded-frames/d250_05.png';
const flat = (value: number) => ({ widthPx: 20, heightPx: 20, bitDepth: 8, data: new Uint8Array(400).fill(value) });

describe('focuswright measure', () => {
  it('property: --json is the record of the library function with file, hash, size and version', async () => {
    const { stdout, stderr, code } = await focuswright(['measure', 'focus', frame, '--roi', '10,20,100,80', '--json']);
    expect([code, stderr]).toEqual([0, '']);
    const result = JSON.parse(stdout);
    const bytes = readFileSync(frame);
    expect(result).toMatchObject({
      file: frame,
      sha256: createHash('sha256').update(bytes).digest('hex'),
      widthPx: 320,
      heightPx: 256,
      bitDepth: 8,
      softwareVersion: expect.any(String),
    });
    const region = { xPx: 10, yPx: 20, widthPx: 100, heightPx: 80 };
    expect(result.regions[0]).toMatchObject({ kind: 'measured', region });
    for (const { name, value } of result.regions[0].values) {
      expect(value).toBe(measureFocus({ image: decodeImage(bytes), region, measure: name }));
    }
  });

  it('property: several regions in one call, noise gives error bars, a page of several is named', async () => {
    const many = await focuswright([
      ...['measure', 'focus', frame, '--roi', '0,0,50,50', '--roi', '50,50,60,60'],
      ...['--measure', 'tenengrad', '--noise-std-dn', '2'],
    ]);
    expect(many.stdout).toMatch(/50 × 50 px at \(0, 0\)[\s\S]*±[\s\S]*60 × 60 px at \(50, 50\)[\s\S]*tenengrad/);
    const page = await focuswright(['measure', 'focus', 'references/tiff/grey8-three-pages.tif', '--page', '3']);
    expect(page.stdout).toContain('page 3 of 3');
  });

  it('refuses black, saturated and one-pixel images with a reason, a remedy and exit code 5', async () => {
    for (const [name, image, reason] of [
      ['black', flat(0), 'black'],
      ['white', flat(255), 'saturated'],
      ['one', { widthPx: 1, heightPx: 1, bitDepth: 8, data: Uint8Array.of(7) }, 'region-too-small'],
    ] as const) {
      const file = join(base, `${name}.png`);
      writeFileSync(file, encodePng(image));
      const { code, stdout } = await focuswright(['measure', 'focus', file, '--json']);
      expect([name, code]).toEqual([name, 5]);
      expect(JSON.parse(stdout).regions[0]).toMatchObject({ kind: 'refused', reason, remedy: expect.any(String) });
    }
  });

  it('property: noise of a folder beside the station’s sensor, with the difference; a Bayer plane is half as large', async () => {
    const { code, stdout } = await focuswright([
      'measure',
      'noise',
      'references/noise',
      '--station',
      'glaze-line',
      '--json',
    ]);
    expect(code).toBe(0);
    const result = JSON.parse(stdout);
    expect(result).toMatchObject({ kind: 'measured', file: 'references/noise', station: 'glaze-line', cautions: [] });
    expect(result.inputs).toHaveLength(14);
    const [gain] = result.comparison;
    // 0.02 DN/e at 8 bit is 0.32 DN/e at the frames' 12 bit.
    expect(gain).toMatchObject({ name: 'gainDnPerE', predicted: { value: 0.32 }, measured: result.gainDnPerE });
    expect(gain.deviationFraction).toBeCloseTo(result.gainDnPerE.value / 0.32 - 1, 12);
    const plane = await focuswright(['measure', 'noise', 'references/noise', '--bayer', 'RG', '--colour', 'blue']);
    expect(plane.stdout).toMatch(/48 × 40 px[\s\S]*system gain[\s\S]*full well/);
    const focus = await focuswright(['measure', 'focus', frame, '--bayer', 'GB', '--json']);
    expect(JSON.parse(focus.stdout)).toMatchObject({ widthPx: 160, heightPx: 128 });
  });

  it('refuses a noise measurement of single frames, of copies, and of a table that is wrong', async () => {
    const one = await focuswright(['measure', 'noise', frame, '--json']);
    expect([one.code, JSON.parse(one.stdout).error.code]).toEqual([2, 'frames-too-few']);
    const copies = await focuswright(['measure', 'noise', frame, frame, frame, frame, frame, frame, '--json']);
    expect([copies.code, JSON.parse(copies.stdout).kind]).toEqual([5, 'refused']);
    writeFileSync(join(base, 'frames.csv'), 'file,exposureMs,light\na.png,-1,on\n../b.png,2,maybe\n');
    const table = await focuswright(['measure', 'noise', base]);
    expect(table.code).toBe(2);
    expect(table.stderr).toMatch(
      /line 2: exposureMs is "-1"[\s\S]*line 3: \.\.\/b\.png lies outside[\s\S]*light is "maybe"/,
    );
  });

  it('refuses wrong regions, pages and files with 2, what was met and the remedy', async () => {
    const cut = join(base, 'cut.tif');
    writeFileSync(cut, encodeTiff(flat(3)).subarray(0, 200));
    const empty = join(base, 'empty.png');
    writeFileSync(empty, '');
    const bomb = encodePng(flat(3));
    new DataView(bomb.buffer, bomb.byteOffset).setUint32(16, 60_000);
    new DataView(bomb.buffer, bomb.byteOffset).setUint32(20, 60_000);
    writeFileSync(join(base, 'bomb.png'), bomb);
    for (const [args, text] of [
      [[frame, '--roi', '300,0,21,10'], /21 × 10 px at \(300, 0\); frame: 320 × 256 px/],
      [[frame, '--roi', '1,2,3'], /x,y,w,h/],
      [[frame, '--roi', '1,2,0,5'], /x,y,w,h/],
      [[frame, '--roi', '-1,2,3,5'], /x,y,w,h/],
      [[frame, '--page', '2'], /one page/],
      [[frame, '--page', '0'], /whole number/],
      [[frame, '--measure', 'sharpness'], /tenengrad/],
      [[frame, '--noise-std-dn', '-2'], /at least 0, in DN/],
      [[join(base, 'none.png')], /no such file/],
      [[base], /a folder/],
      [[cut], /truncated/],
      [[empty], /empty file/],
      [[join(base, 'bomb.png')], /60000 × 60000 px; limit/],
    ] as const) {
      const { code, stderr } = await focuswright(['measure', 'focus', ...args]);
      expect([args, code]).toEqual([args, 2]);
      expect(stderr).toMatch(text);
    }
    const { stdout } = await focuswright(['measure', 'focus', cut, '--json']);
    expect(JSON.parse(stdout)).toMatchObject({ error: { code: 'image-unreadable' } });
  });
});
