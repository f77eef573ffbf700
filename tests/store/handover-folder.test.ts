import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Frame } from '../../src/devices/index.js';
import { openRecordedBench } from '../../src/drivers/index.js';
import { createHandoverFolder } from '../../src/store/index.js';

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-handover-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));

const frame = (focalPowerDpt: number): Frame => ({
  image: { widthPx: 5, heightPx: 4, bitDepth: 12, data: Uint16Array.from({ length: 20 }, (_, i) => 200 * i) },
  frameId: 1,
  focalPowerDpt,
  exposureMs: 2,
  temperatureDegC: 25,
  exposedAtMs: 10,
  arrivedAtMs: 12,
  source: 'sim:test',
  fileName: null,
});

describe('handover folder', () => {
  it('recovery: kept frames are read again as recorded frames, same pixels, power, distance and bit depth', async () => {
    const folder = await createHandoverFolder(join(base, 'again'));
    folder.atDistance(300);
    await folder.keepFrame(frame(0.25), 'sweep 300 mm');
    await folder.keepFrame(frame(0.5), 'sweep 300 mm');
    await folder.keepText('results.json', '{}\n');
    await folder.end();
    const { camera, stage } = await openRecordedBench(join(folder.path, 'frames'));
    expect(stage.distancesMm).toEqual([300]);
    expect(await camera.capabilities()).toMatchObject({ powersDpt: [0.25, 0.5], bitDepth: 12 });
    await camera.setFocalPower({ focalPowerDpt: 0.5 });
    expect((await camera.grab()).image).toEqual(frame(0.5).image);
  });

  it('closed form: SHA256SUMS holds the hash of every file, as sha256sum writes it', async () => {
    const folder = await createHandoverFolder(join(base, 'sums'));
    folder.atDistance(300);
    const kept = await folder.keepFrame(frame(0), 'one');
    await folder.keepText('results.json', 'µ\n');
    await folder.end();
    const lines = readFileSync(join(folder.path, 'SHA256SUMS'), 'utf8').trimEnd().split('\n');
    expect(lines.map((line) => line.slice(66))).toEqual(['frames/frames.csv', kept.file, 'results.json']);
    for (const line of lines) {
      const bytes = readFileSync(join(folder.path, line.slice(66)));
      expect(createHash('sha256').update(bytes).digest('hex')).toBe(line.slice(0, 64));
    }
    expect(lines.some((line) => line.startsWith(kept.sha256))).toBe(true);
  });

  it('refuses a folder that holds anything, and leaves it as it was', async () => {
    const full = join(base, 'full');
    mkdirSync(full);
    writeFileSync(join(full, 'mine.txt'), 'x');
    await expect(createHandoverFolder(full)).rejects.toMatchObject({ code: 'output-exists', message: /mine\.txt/ });
    expect(readdirSync(full)).toEqual(['mine.txt']);
  });

  it('refuses a place that cannot be a folder, and makes nothing', async () => {
    writeFileSync(join(base, 'file'), 'x');
    await expect(createHandoverFolder(join(base, 'file'))).rejects.toMatchObject({ code: 'output-not-writable' });
    await expect(createHandoverFolder(join(base, 'file', 'below'))).rejects.toMatchObject({
      code: 'output-not-writable',
    });
  });

  it.runIf(existsSync('/proc/self'))(
    'refuses a place where folders cannot be made but count as missing, and comes to an end',
    async () => {
      await expect(createHandoverFolder('/proc/none/below')).rejects.toMatchObject({ code: 'output-not-writable' });
    },
  );

  it('degenerate: a folder in which nothing was kept can be taken away, also the parents made for it', async () => {
    const folder = await createHandoverFolder(join(base, 'new', 'deep'));
    await folder.end();
    expect(readdirSync(base)).not.toContain('new');
    const kept = await createHandoverFolder(join(base, 'kept'));
    await kept.keepText('results.json', '{}');
    await kept.end();
    expect(readdirSync(join(base, 'kept'))).toContain('results.json');
  });
});
