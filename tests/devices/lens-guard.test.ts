import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { guardLens, withParkedLens } from '../../src/devices/index.js';
import { fakeCamera } from './fake-camera.js';

describe('lens guard', () => {
  it('property: of any commands, none outside the tighter limits leaves the process', async () => {
    const camera = fakeCamera({ powerMinDpt: -2, powerMaxDpt: 3 });
    const guarded = await guardLens(camera, { powerMinDpt: -1, powerMaxDpt: 5 });
    await fc.assert(
      fc.asyncProperty(fc.oneof(fc.double(), fc.double({ min: -10, max: 10 })), async (focalPowerDpt) => {
        const before = camera.commands.length;
        if (!Number.isFinite(focalPowerDpt)) {
          await expect(guarded.setFocalPower({ focalPowerDpt })).rejects.toThrow(RangeError);
          expect(camera.commands.length).toBe(before);
          return;
        }
        const commanded = await guarded.setFocalPower({ focalPowerDpt });
        expect(camera.commands.at(-1)).toBe(commanded);
        expect(commanded).toBeGreaterThanOrEqual(-1);
        expect(commanded).toBeLessThanOrEqual(3);
        if (focalPowerDpt >= -1 && focalPowerDpt <= 3) expect(commanded).toBe(focalPowerDpt);
      }),
    );
  });

  it('refuses limits that leave no power, and limits that are not numbers', async () => {
    await expect(guardLens(fakeCamera(), { powerMinDpt: 4, powerMaxDpt: 6 })).rejects.toThrow(/no power in common/);
    await expect(guardLens(fakeCamera(), { powerMinDpt: Number.NaN, powerMaxDpt: 6 })).rejects.toThrow(
      /powerMinDpt is NaN/,
    );
  });

  it('closed form: reports the tighter limits as its own', async () => {
    const guarded = await guardLens(fakeCamera({ powerMinDpt: -2, powerMaxDpt: 3 }), {
      powerMinDpt: -1,
      powerMaxDpt: 5,
    });
    expect(await guarded.capabilities()).toMatchObject({ powerMinDpt: -1, powerMaxDpt: 3 });
  });

  it('property: the lens is parked after success and after an error', async () => {
    const camera = fakeCamera();
    expect(await withParkedLens(camera, async () => 7)).toBe(7);
    expect(camera.parked).toBe(1);
    await expect(
      withParkedLens(camera, async () => {
        throw new Error('broken');
      }),
    ).rejects.toThrow('broken');
    expect(camera.parked).toBe(2);
  });

  it('closed form: with a slew limit a command goes out in steps no faster than that', async () => {
    const camera = fakeCamera();
    const guarded = await guardLens(camera, { powerMinDpt: -2, powerMaxDpt: 3, slewLimitDptPerS: 20 });
    const startMs = camera.clock.nowMs();
    expect(await guarded.setFocalPower({ focalPowerDpt: 1 })).toBe(1);
    const steps = camera.commands.map((power, i) => power - (camera.commands[i - 1] ?? 0));
    expect(Math.max(...steps)).toBeLessThanOrEqual(0.1 + 1e-12);
    expect(camera.commands.at(-1)).toBe(1);
    expect(camera.clock.nowMs() - startMs).toBeGreaterThanOrEqual(45);
  });

  it('refuses commands to a lens above its temperature, parks it, and takes them again once it has cooled', async () => {
    const camera = fakeCamera();
    let temperatureDegC = 70;
    const { grab, lensStatus } = camera;
    camera.grab = async () => ({ ...(await grab()), temperatureDegC });
    camera.lensStatus = async () => ({ ...(await lensStatus()), temperatureDegC });
    const guarded = await guardLens(camera, { powerMinDpt: -2, powerMaxDpt: 3, temperatureMaxDegC: 65 });
    await guarded.setFocalPower({ focalPowerDpt: 1 });
    await expect(guarded.grab()).rejects.toMatchObject({ code: 'lens-too-hot' });
    expect(camera.parked).toBe(1);
    await expect(guarded.setFocalPower({ focalPowerDpt: 2 })).rejects.toMatchObject({ code: 'lens-too-hot' });
    expect(camera.commands).toEqual([1]);
    temperatureDegC = 60;
    expect(await guarded.setFocalPower({ focalPowerDpt: 2 })).toBe(2);
    // Who asks for the status alone is told, and the lens is parked all the same.
    temperatureDegC = 70;
    const parked = camera.parked;
    expect((await guarded.lensStatus()).temperatureDegC).toBe(70);
    expect(camera.parked).toBe(parked + 1);
    await expect(guarded.setFocalPower({ focalPowerDpt: 1 })).rejects.toMatchObject({ code: 'lens-too-hot' });
  });

  it('property: currents are clamped to the tighter of station and device; none that is no number gets through', async () => {
    const camera = fakeCamera({ currentMinMa: -100, currentMaxMa: 200 });
    const sent: number[] = [];
    camera.setFocalCurrent = async ({ currentMa }) => {
      sent.push(currentMa);
      return currentMa;
    };
    const guarded = await guardLens(camera, { powerMinDpt: -2, powerMaxDpt: 3, currentMaxMa: 150 });
    for (const currentMa of [-1e9, -100, 0, 150, 1e9]) await guarded.setFocalCurrent({ currentMa });
    await expect(guarded.setFocalCurrent({ currentMa: Number.NaN })).rejects.toThrow(RangeError);
    expect(sent).toEqual([-100, -100, 0, 150, 150]);
  });
});
