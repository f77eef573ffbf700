import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { learningMethodOf } from '../../src/app/focus-method.js';
import { keepBlurOf, keptBlurOf } from '../../src/app/kept-blurs.js';
import { userDataFolder } from '../../src/store/index.js';

const camera = (serialNumber?: string) => ({
  id: 'genicam:a',
  model: 'm',
  lensModel: 'l',
  ...(serialNumber && { serialNumber }),
});
const blur = { cutoffPerPx: 1.1, blurRadiusPerDptPx: 7, blurRadiusLogStd: 0.12, runCount: 1 };
const usual = process.env.FOCUSWRIGHT_DATA;
let folder: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'focuswright-kept-'));
  process.env.FOCUSWRIGHT_DATA = join(folder, 'deep', 'inside');
});
afterEach(() => {
  process.env.FOCUSWRIGHT_DATA = usual;
  rmSync(folder, { recursive: true, force: true });
});

describe('kept blur scales', () => {
  it('property: kept for each camera by its serial number, forgotten one by one, nothing else left in the folder', async () => {
    expect(await keptBlurOf(camera('1'))).toBeNull();
    expect(await keepBlurOf(camera('1'), null)).toBe(true);
    expect(await keepBlurOf(camera('1'), blur)).toBe(true);
    expect(await keepBlurOf(camera('2'), { ...blur, runCount: 2 })).toBe(true);
    expect(await keptBlurOf(camera('1'))).toEqual(blur);
    expect(await keepBlurOf(camera('1'), null)).toBe(true);
    expect([await keptBlurOf(camera('1')), (await keptBlurOf(camera('2')))?.runCount]).toEqual([null, 2]);
    expect(await keptBlurOf(camera())).toBeNull();
    expect(readdirSync(userDataFolder())).toEqual(['learned-optics.json']);
  });

  it('degenerate: a broken file counts as none and is written anew; a folder that cannot be made is told', async () => {
    await keepBlurOf(camera('1'), blur);
    const file = join(userDataFolder(), 'learned-optics.json');
    for (const text of ['{', '{"format":1,"cameras":{"x":{"runCount":-1}}}']) {
      writeFileSync(file, text);
      expect(await keptBlurOf(camera('1'))).toBeNull();
    }
    expect(await keepBlurOf(camera('1'), blur)).toBe(true);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ format: 1 });
    process.env.FOCUSWRIGHT_DATA = join(file, 'no-folder');
    expect(await keepBlurOf(camera('1'), blur)).toBe(false);
  });

  it('property: only the model on a camera of unknown optics learns, and never from a recording', async () => {
    const of = async (name: 'model' | 'fibonacci', id: string) =>
      (await learningMethodOf(name, { station: null, camera: { ...camera(), id } })).keep();
    expect(await of('model', 'genicam:a')).toEqual({ before: null, after: null, isForgotten: false, isKept: true });
    expect(await of('fibonacci', 'genicam:a')).toBeNull();
    expect(await of('model', 'frames:a')).toBeNull();
  });

  it('property: the folder is the one that each system keeps such data in', () => {
    const at = (platform: NodeJS.Platform, env: NodeJS.ProcessEnv) => userDataFolder({ platform, env });
    expect(at('linux', { XDG_DATA_HOME: '/x' })).toBe(join('/x', 'focuswright'));
    expect(at('linux', {})).toMatch(/\.local.share.focuswright$/);
    expect(at('darwin', {})).toMatch(/Application Support.Focuswright$/);
    expect(at('win32', { LOCALAPPDATA: '/l' })).toBe(join('/l', 'Focuswright'));
    expect(at('win32', { FOCUSWRIGHT_DATA: '/own' })).toBe('/own');
  });
});
