import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { guardLens } from '../../src/devices/index.js';
import { inspectGenicamCamera, openGenicamCamera } from '../../src/drivers/index.js';
import { focusHalfWidthDpt } from '../../src/procedures/index.js';
import { focuswright } from '../cli/run-cli.js';
import { arvControl } from './aravis.js';
import { type ServedStation, serveStation } from './served-station.js';
import { trueFocusDpt } from './true-focus.js';

const current = { feature: 'LensCurrent', perUnitMa: 1, perMaDpt: 0.02, withoutCurrentDpt: -2 };

describe('a lens that is driven by current, behind a camera with an autofocus of its own', () => {
  let served: ServedStation;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'focuswright-current-'));
    served = await serveStation({
      seed: 3,
      options: ['--lens', 'current', '--focus-auto'],
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 480, heightPx: 384 });
        Object.assign(file.controls, { featureMap: { current }, currentMinMa: 20, currentMaxMa: 230, parkPowerDpt: 0 });
      },
    });
    writeFileSync(join(folder, 'station.yaml'), served.yaml);
  });
  afterAll(async () => {
    await served?.close();
    rmSync(folder, { recursive: true, force: true });
  });
  const open = () =>
    openGenicamCamera(served.address, { featureMap: { current, enable: [] }, limits: { currentMaxMa: 200 } });

  it('property: inspect moves nothing, leaves the autofocus on, and names what a feature map would need', async () => {
    const before = await arvControl(served.address, 'FocusAuto', 'LensCurrent');
    expect(before[0]).toContain('Continuous');
    const { lens, featureMapNeeds } = await inspectGenicamCamera(served.address);
    expect(lens).toBeNull();
    expect(featureMapNeeds[0]?.candidates).toContain('LensCurrent');
    expect(await arvControl(served.address, 'FocusAuto', 'LensCurrent')).toEqual(before);
  });

  it('refuses currents while the autofocus is on: the driver switches it off first', async () => {
    const said = await arvControl(served.address, 'LensCurrent=50', 'LensCurrent');
    expect(said[0]).toMatch(/error|locked|not writable|access/i);
    expect(said[1]).toContain('LensCurrent = 100 mA');
    const { camera } = await open();
    expect(await camera.setFocalCurrent({ currentMa: 50 })).toBe(50);
    expect((await arvControl(served.address, 'FocusAuto'))[0]).toContain('Off');
    await camera.close();
    expect((await arvControl(served.address, 'LensCurrent'))[0], 'parked at 0 dpt').toContain('LensCurrent = 100 mA');
  });

  it('property: of 2,000 random currents and powers none out of range reaches the camera; limits hold in mA', async () => {
    const { camera } = await open();
    const limits = { powerMinDpt: -2, powerMaxDpt: 3, currentMinMa: 30, currentMaxMa: 300 };
    const guarded = await guardLens(camera, limits);
    expect(await guarded.capabilities()).toMatchObject({ currentMinMa: 30, currentMaxMa: 200, powerMaxDpt: 2 });
    expect(await guarded.setFocalCurrent({ currentMa: 1e9 })).toBe(200);
    expect(await guarded.setFocalCurrent({ currentMa: -5 })).toBe(30);
    await expect(camera.setFocalCurrent({ currentMa: 200.5 })).rejects.toMatchObject({
      code: 'lens-current-out-of-range',
      details: { allowed: '0 … 200 mA' },
    });
    const random = seededRandom(1);
    const odd = [Number.NaN, Infinity, -Infinity, 200.0001, -0.0001, 250, 1e300];
    for (let i = 0; i < 2000; i++) {
      const currentMa = random.uniform() < 0.1 ? odd[i % odd.length]! : (random.uniform() - 0.3) * 500;
      const [target, least] = i % 2 ? [camera, 0] : [guarded, 30];
      const commanded = await (i % 5 === 0
        ? target.setFocalPower({ focalPowerDpt: currentMa / 50 - 2 }).then((dpt) => (dpt + 2) / 0.02)
        : target.setFocalCurrent({ currentMa })
      ).catch(() => null);
      if (commanded === null) continue;
      // A power is clamped in dioptres, and the least of them stands for no current.
      expect(commanded).toBeGreaterThanOrEqual(i % 5 === 0 ? -1e-6 : least);
      expect(commanded).toBeLessThanOrEqual(200 + 1e-6);
    }
    await camera.close();
    expect((await arvControl(served.address, 'OutOfRangeWriteCount'))[0]).toContain('= 0');
  }, 120_000);

  it('recovery: autofocus by powers that are turned into currents finds the truth', { timeout: 120_000 }, async () => {
    const { stdout, code } = await focuswright([
      'autofocus',
      '--station',
      join(folder, 'station.yaml'),
      '--camera',
      `genicam:${served.address}`,
      '--json',
    ]);
    expect(code).toBe(0);
    const [found] = JSON.parse(stdout).results;
    const workingDistanceMm = (served.station.task.nearMm + served.station.task.farMm) / 2;
    const truthDpt = trueFocusDpt(served, { workingDistanceMm, temperatureDegC: 20 });
    const allowed = focusHalfWidthDpt({ station: served.station, workingDistanceMm });
    expect(Math.abs(found.focalPowerDpt - truthDpt)).toBeLessThan(allowed);
    expect((await arvControl(served.address, 'OutOfRangeWriteCount'))[0]).toContain('= 0');
  });
});
