import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Bench } from '../../src/devices/index.js';

/** Runs the contract's suite on one implementation. `open` gives a fresh bench each time. */
export function contractSuite(name: string, open: () => Promise<Bench>): void {
  describe(`device contract: ${name}`, () => {
    let bench: Bench;
    beforeEach(async () => {
      bench = await open();
    });
    afterEach(() => bench.camera.close());

    /** A power that can be had: one that is recorded, or the middle of the range. */
    async function somePower(): Promise<number> {
      const { powersDpt, powerMinDpt, powerMaxDpt } = await bench.camera.capabilities();
      return powersDpt?.[0] ?? (powerMinDpt + powerMaxDpt) / 2;
    }

    it('property: identity and frames carry the kind of the device', async () => {
      const { id } = await bench.camera.identify();
      expect(id).toMatch(/^(sim|frames|genicam):./);
      expect(bench.camera.id).toBe(id);
      expect((await bench.camera.grab()).source).toBe(id);
    });

    it('property: a frame has the size and depth that the capabilities say', async () => {
      const can = await bench.camera.capabilities();
      const { image } = await bench.camera.grab();
      expect(image).toMatchObject({ widthPx: can.widthPx, heightPx: can.heightPx, bitDepth: can.bitDepth });
      expect(image.data.length).toBe(can.widthPx * can.heightPx);
      expect(image.data.every((grey) => grey < 2 ** can.bitDepth)).toBe(true);
    });

    it('property: what is commanded is returned, read back and stands on the frame', async () => {
      const wanted = await somePower();
      const commanded = await bench.camera.setFocalPower({ focalPowerDpt: wanted });
      expect(commanded).toBeCloseTo(wanted, 2);
      await bench.camera.clock.sleep(1000);
      expect((await bench.camera.lensStatus()).focalPowerDpt).toBeCloseTo(commanded, 2);
      expect((await bench.camera.grab()).focalPowerDpt).toBeCloseTo(commanded, 2);
    });

    it('property: frames are numbered upwards; exposure lies before arrival; time moves on', async () => {
      const a = await bench.camera.grab();
      const b = await bench.camera.grab();
      expect(b.frameId).toBeGreaterThan(a.frameId);
      expect(a.exposedAtMs).toBeLessThanOrEqual(a.arrivedAtMs);
      expect(b.arrivedAtMs).toBeGreaterThanOrEqual(a.arrivedAtMs);
      const before = bench.camera.clock.nowMs();
      await bench.camera.clock.sleep(5);
      expect(bench.camera.clock.nowMs() - before).toBeGreaterThanOrEqual(5 - 1e-9);
    });

    it('refuses powers outside the limits and powers that are not numbers', async () => {
      const { powerMinDpt, powerMaxDpt } = await bench.camera.capabilities();
      for (const focalPowerDpt of [powerMinDpt - 1, powerMaxDpt + 1]) {
        await expect(bench.camera.setFocalPower({ focalPowerDpt })).rejects.toMatchObject({
          code: 'lens-power-out-of-range',
        });
      }
      for (const focalPowerDpt of [Number.NaN, Number.POSITIVE_INFINITY]) {
        await expect((async () => bench.camera.setFocalPower({ focalPowerDpt }))()).rejects.toThrow();
      }
    });

    it('property: settings are told, taken as they are, and refused where the camera has no such value', async () => {
      const settings = await bench.camera.configure({});
      expect(await bench.camera.configure(settings)).toEqual(settings);
      const { widthPx, heightPx, sensorWidthPx, pixelFormats } = await bench.camera.capabilities();
      expect(settings.region).toMatchObject({ widthPx, heightPx });
      expect(pixelFormats).toContain(settings.pixelFormat);
      const tooWide = { xPx: 0, yPx: 0, widthPx: sensorWidthPx + 1, heightPx };
      for (const wanted of [
        { region: tooWide },
        { pixelFormat: 'NoSuchFormat' },
        { trigger: { line: 'NoSuchLine' } },
      ]) {
        await expect(bench.camera.configure(wanted)).rejects.toMatchObject({ code: 'setting-refused' });
      }
      expect(await bench.camera.configure({})).toEqual(settings);
    });

    it('property: a stream gives as many frames as asked, in order, and ends when it is cancelled', async () => {
      const ids: number[] = [];
      for await (const frame of bench.camera.stream({ count: 3 })) ids.push(frame.frameId);
      expect(ids.length).toBe(3);
      expect(ids).toEqual([...ids].sort((a, b) => a - b));
      const signal = { aborted: false };
      let frames = 0;
      for await (const _ of bench.camera.stream({ signal })) signal.aborted = ++frames === 2;
      expect(frames).toBe(2);
      expect((await bench.camera.grab()).frameId).toBeGreaterThan(ids[2]!);
    });

    it('refuses a current outside its limits, or any where the lens takes none', async () => {
      const { currentMaxMa } = await bench.camera.capabilities();
      await expect(bench.camera.setFocalCurrent({ currentMa: (currentMaxMa ?? 0) + 10 })).rejects.toMatchObject({
        code: currentMaxMa === null ? 'feature-missing' : 'lens-current-out-of-range',
      });
    });

    it('property: a target is placed where asked, and refused where it cannot be', async () => {
      const wanted = bench.stage.distancesMm?.[0] ?? 400;
      expect(await bench.stage.placeTarget({ workingDistanceMm: wanted })).toBeCloseTo(wanted, 0);
      await expect((async () => bench.stage.placeTarget({ workingDistanceMm: -5 }))()).rejects.toThrow();
    });

    it('refuses a grab that is cancelled before it begins', async () => {
      await expect(bench.camera.grab({ signal: { aborted: true } })).rejects.toMatchObject({ code: 'cancelled' });
    });

    it('property: parking may be repeated, also after closing; use after closing is refused', async () => {
      await bench.camera.park();
      await bench.camera.park();
      await bench.camera.close();
      await bench.camera.park();
      await bench.camera.close();
      await expect(bench.camera.grab()).rejects.toMatchObject({ code: 'camera-closed' });
      await expect(bench.camera.setFocalPower({ focalPowerDpt: await Promise.resolve(0) })).rejects.toMatchObject({
        code: 'camera-closed',
      });
    });
  });
}
