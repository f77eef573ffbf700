import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeImage, imageDescription } from '../../src/image/index.js';
import { focuswright } from './run-cli.js';

const sweep = 'references/height';
const station = ['--station', `${sweep}/station.yaml`, '--threads', '1'];
let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-stack-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

describe('measure stack', () => {
  it('reference: heights of the rendered surface, with every file it promises', async () => {
    const out = join(base, 'heights');
    const { code, stdout } = await focuswright(['measure', 'stack', sweep, ...station, '--out', out, '--json']);
    expect(code).toBe(0);
    const record = JSON.parse(stdout);
    expect(record).toMatchObject({
      kind: 'stacked',
      frames: 24,
      distances: { kind: 'optical-model' },
      referenceFile: 's_13.png',
    });
    expect(record.validFraction).toBeGreaterThan(0.9);
    expect(readdirSync(out).sort()).toEqual(
      [
        'all-in-focus.png',
        'confidence.png',
        'height-mm.tif',
        'height.svg',
        'height.tif',
        'stack.json',
        'uncertainty-mm.tif',
      ].sort(),
    );
    expect(JSON.parse(readFileSync(join(out, 'stack.json'), 'utf8'))).toEqual(record);
    const bytes = readFileSync(join(out, 'height.tif'));
    const grey = decodeImage(bytes, 'height.tif');
    const { scaleMm, offsetMm } = record.height16;
    expect(imageDescription(bytes)).toContain(`${offsetMm} + ${scaleMm} * grey`);
    const truth = JSON.parse(readFileSync(`${sweep}/truth.json`, 'utf8')).depthMm.flat() as number[];
    const errors = [...grey.data].flatMap((value, b) =>
      value === 0 ? [] : [record.map.zeroWorkingDistanceMm - (offsetMm + scaleMm * value) - truth[b]!],
    );
    const rms = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
    expect(rms).toBeLessThan(record.map.depthOfFieldMm / 10);
    expect(decodeImage(readFileSync(join(out, 'all-in-focus.png')))).toMatchObject({
      widthPx: 256,
      heightPx: 192,
      bitDepth: 8,
    });
  });

  it('refuses a folder that holds something, a sweep that is not single, a missing station', async () => {
    const full = await focuswright(['measure', 'stack', sweep, ...station, '--out', sweep]);
    expect([full.code, full.stderr]).toEqual([2, expect.stringContaining('already holds something')]);
    const several = await focuswright([
      'measure',
      'stack',
      'references/recorded-frames',
      ...station,
      '--out',
      join(base, 'a'),
    ]);
    expect([several.code, several.stderr]).toEqual([2, expect.stringContaining('--distance-mm')]);
    const none = await focuswright(['measure', 'stack', sweep, '--out', join(base, 'a')]);
    expect([none.code, none.stderr]).toEqual([2, expect.stringContaining('--station')]);
    const calibration = join(base, 'results.json');
    writeFileSync(calibration, '{"calibration": {"kind": "refused"}}');
    const refused = await focuswright([
      'measure',
      'stack',
      sweep,
      ...station,
      '--calibration',
      calibration,
      '--out',
      join(base, 'a'),
    ]);
    expect([refused.code, refused.stderr]).toEqual([2, expect.stringContaining('no fitted calibration')]);
    expect(existsSync(join(base, 'a'))).toBe(false);
  });

  it('refuses with exit code 5 a sweep with steps wider than the focus, and writes nothing', async () => {
    const out = join(base, 'wide');
    const { code, stdout } = await focuswright([
      'measure',
      'stack',
      'references/recorded-frames',
      ...station,
      '--distance-mm',
      '315',
      '--out',
      out,
    ]);
    expect([code, stdout]).toEqual([5, expect.stringContaining('refused: The powers lie up to 0.14')]);
    expect(existsSync(out)).toBe(false);
  });

  it('refuses frames too small for a map', async () => {
    const { code, stdout } = await focuswright(['measure', 'tilt', sweep, ...station, '--step-px', '64']);
    expect([code, stdout]).toEqual([5, expect.stringContaining('needs at least 384 px each way')]);
  });

  it('closed form: heights by a calibration are those of its curve', async () => {
    const curve = [
      { workingDistanceMm: 290, focalPowerDpt: 1.9, predicted95Dpt: 0.01 },
      { workingDistanceMm: 330, focalPowerDpt: 1.1, predicted95Dpt: 0.01 },
    ];
    const file = join(base, 'made-up.json');
    writeFileSync(file, JSON.stringify({ calibration: { kind: 'fitted', referenceTemperatureDegC: 25, curve } }));
    const { code, stdout } = await focuswright(['measure', 'tilt', sweep, ...station, '--calibration', file, '--json']);
    expect(code).toBe(0);
    const record = JSON.parse(stdout);
    expect(record).toMatchObject({ kind: 'measured', distances: { kind: 'calibration', file, predicted95Dpt: 0.01 } });
    expect(record.shim).toMatchObject({ flangeWidthMm: 29, horizontalSide: 'right', verticalSide: 'top' });
  });
});
