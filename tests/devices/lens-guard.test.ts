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
});
