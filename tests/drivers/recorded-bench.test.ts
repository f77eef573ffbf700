import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openRecordedBench } from '../../src/drivers/index.js';
import { encodePng, encodeTiff, type GreyImage } from '../../src/image/index.js';

const flat = (grey: number, bitDepth = 8): GreyImage => ({
  widthPx: 4,
  heightPx: 3,
  bitDepth,
  data: (bitDepth > 8 ? new Uint16Array(12) : new Uint8Array(12)).fill(grey),
});

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'focuswright-frames-'));
  writeFileSync(join(folder, 'a.png'), encodePng(flat(10)));
  writeFileSync(join(folder, 'a2.png'), encodePng(flat(11)));
  writeFileSync(join(folder, 'b.tiff'), encodeTiff(flat(20)));
  writeFileSync(join(folder, 'c.png'), encodePng(flat(30)));
  writeFileSync(
    join(folder, 'frames.csv'),
    'file,focalPowerDpt,workingDistanceMm,temperatureDegC,exposureMs\na.png,0,300,25,2\na2.png,0,300,25,2\nb.tiff,1,300,26,2\nc.png,-1,400,27,3\n',
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('recorded frames as a bench', () => {
  it('closed form: only the recorded distances, and at each its own powers, exist', async () => {
    const { camera, stage } = await openRecordedBench(folder);
    expect(stage.distancesMm).toEqual([300, 400]);
    expect(await camera.capabilities()).toMatchObject({
      powersDpt: [0, 1],
      powerMinDpt: 0,
      powerMaxDpt: 1,
      widthPx: 4,
      heightPx: 3,
      bitDepth: 8,
    });
    await stage.placeTarget({ workingDistanceMm: 400 });
    expect(await camera.capabilities()).toMatchObject({ powersDpt: [-1], hasTemperature: true });
    expect(camera.id).toMatch(/^frames:focuswright-frames-/);
  });

  it('closed form: a command goes to the nearest recorded power; frames taken there come in turn', async () => {
    const { camera } = await openRecordedBench(folder);
    expect(await camera.setFocalPower({ focalPowerDpt: 0.2 })).toBe(0);
    const greys = [];
    for (let i = 0; i < 3; i++) greys.push((await camera.grab()).image.data[0]);
    expect(greys).toEqual([10, 11, 10]);
    expect(await camera.setFocalPower({ focalPowerDpt: 0.9 })).toBe(1);
    expect(await camera.grab()).toMatchObject({
      fileName: 'b.tiff',
      temperatureDegC: 26,
      focalPowerDpt: 1,
      exposureMs: 2,
    });
  });

  it('refuses powers and distances that were not recorded, and use after closing', async () => {
    const { camera, stage } = await openRecordedBench(folder);
    await expect(camera.setFocalPower({ focalPowerDpt: 1.5 })).rejects.toMatchObject({
      code: 'lens-power-out-of-range',
    });
    await expect(camera.setFocalPower({ focalPowerDpt: Number.NaN })).rejects.toThrow(RangeError);
    await expect(stage.placeTarget({ workingDistanceMm: 350 })).rejects.toMatchObject({ code: 'target-not-placeable' });
    await camera.close();
    await expect(camera.grab()).rejects.toMatchObject({ code: 'camera-closed' });
  });

  it('refuses a grab when cancelled', async () => {
    const { camera } = await openRecordedBench(folder);
    await expect(camera.grab({ signal: { aborted: true } })).rejects.toMatchObject({ code: 'cancelled' });
  });

  it('refuses a folder that is missing, has no table, names a missing file, a file outside, or a truncated image', async () => {
    await expect(openRecordedBench(join(folder, 'nothing'))).rejects.toMatchObject({ code: 'frames-folder-missing' });
    const other = mkdtempSync(join(tmpdir(), 'focuswright-bad-'));
    try {
      await expect(openRecordedBench(other)).rejects.toMatchObject({ code: 'frames-folder-empty' });
      const table = (file: string) =>
        writeFileSync(join(other, 'frames.csv'), `file,focalPowerDpt,workingDistanceMm\n${file},0,300\n`);
      table('gone.png');
      await expect(openRecordedBench(other)).rejects.toMatchObject({
        code: 'image-unreadable',
        message: /line 2: gone.png is not in the folder/,
      });
      table('../a.png');
      await expect(openRecordedBench(other)).rejects.toMatchObject({
        code: 'frames-table-invalid',
        message: /lies outside the folder/,
      });
      table('cut.png');
      writeFileSync(join(other, 'cut.png'), encodePng(flat(10)).subarray(0, 40));
      await expect(openRecordedBench(other)).rejects.toMatchObject({ code: 'image-unreadable', message: /cut\.png/ });
    } finally {
      rmSync(other, { recursive: true, force: true });
    }
  });

  it('degenerate: a table without exposures leaves them unknown, not nought', async () => {
    const other = mkdtempSync(join(tmpdir(), 'focuswright-unexposed-'));
    try {
      writeFileSync(join(other, 'a.png'), encodePng(flat(10)));
      writeFileSync(join(other, 'frames.csv'), 'file,focalPowerDpt,workingDistanceMm\na.png,0,300\n');
      const { camera } = await openRecordedBench(other);
      expect((await camera.grab()).exposureMs).toBeNull();
      expect(await camera.setExposure({ exposureMs: 2 })).toBeNull();
    } finally {
      rmSync(other, { recursive: true, force: true });
    }
  });

  it('refuses frames of unequal size on opening, naming the file and both sizes', async () => {
    const other = mkdtempSync(join(tmpdir(), 'focuswright-sizes-'));
    try {
      writeFileSync(join(other, 'a.png'), encodePng(flat(10)));
      const wide = { widthPx: 6, heightPx: 3, bitDepth: 8, data: new Uint8Array(18) };
      writeFileSync(join(other, 'b.tiff'), encodeTiff(wide));
      writeFileSync(join(other, 'frames.csv'), 'file,focalPowerDpt,workingDistanceMm\na.png,0,300\n\nb.tiff,1,300\n');
      await expect(openRecordedBench(other)).rejects.toMatchObject({
        code: 'frames-table-invalid',
        message: expect.stringContaining('line 4: b.tiff is 6 × 3 px, but a.png is 4 × 3 px'),
      });
    } finally {
      rmSync(other, { recursive: true, force: true });
    }
  });
});
