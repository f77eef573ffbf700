import { describe, expect, it } from 'vitest';
import { createSimulatedBench, type Fault, usualFaults } from '../../src/twin/index.js';
import { smallStation } from './small-station.js';

const benchWith = (...faults: Fault[]) => createSimulatedBench({ station: smallStation, seed: 6, faults });

describe('faults', () => {
  it('property: a lost frame is an error after the time it should have taken; the next may arrive', async () => {
    const { camera } = benchWith({ kind: 'lost-frame', probability: 0.5 });
    const outcomes: string[] = [];
    for (let i = 0; i < 20; i++) {
      const before = camera.clock.nowMs();
      outcomes.push(
        await camera.grab().then(
          () => 'frame',
          (error) => error.code,
        ),
      );
      expect(camera.clock.nowMs()).toBeGreaterThan(before);
    }
    expect(new Set(outcomes)).toEqual(new Set(['frame', 'frame-lost']));
  });

  it('property: which frames are lost depends on the seed alone', async () => {
    const outcomes = async (seed: number) => {
      const { camera } = createSimulatedBench({
        station: smallStation,
        seed,
        faults: [{ kind: 'lost-frame', probability: 0.5 }],
      });
      const found: boolean[] = [];
      for (let i = 0; i < 16; i++)
        found.push(
          await camera.grab().then(
            () => true,
            () => false,
          ),
        );
      return found;
    };
    expect(await outcomes(1)).toEqual(await outcomes(1));
    expect(await outcomes(1)).not.toEqual(await outcomes(2));
  });

  it('closed form: a late frame arrives its delay later, exposed at its time', async () => {
    const { camera } = benchWith({ kind: 'late-frame', probability: 1, delayMs: 77 });
    const frame = await camera.grab();
    expect(frame.exposedAtMs).toBeCloseTo(0.3, 9);
    expect(frame.arrivedAtMs).toBeCloseTo(0.6 + smallStation.parts.sensor.readoutMs + 77, 9);
  });

  it('property: a slowly settling lens is still blurred when the datasheet says it is settled', async () => {
    const sharpness = async (...faults: Fault[]) => {
      const { camera } = createSimulatedBench({ station: smallStation, seed: 6, faults });
      await camera.setFocalPower({ focalPowerDpt: -1.8 });
      await camera.clock.sleep(2000);
      await camera.setFocalPower({ focalPowerDpt: 0.4 });
      await camera.clock.sleep(17);
      const { data } = (await camera.grab()).image;
      let sum = 0;
      for (let i = 1; i < data.length; i++) sum += (data[i]! - data[i - 1]!) ** 2;
      return sum / data.length;
    };
    expect(await sharpness(usualFaults['slow-settling'])).toBeLessThan(0.7 * (await sharpness()));
  });

  it('property: a stuck lens is read back where it stuck, with state fault, or goes unnoticed', async () => {
    for (const isReported of [true, false]) {
      const { camera } = benchWith({ kind: 'stuck-lens', commandCount: 1, isReported });
      await camera.setFocalPower({ focalPowerDpt: 1 });
      await camera.setFocalPower({ focalPowerDpt: 2 });
      await camera.clock.sleep(200);
      expect(await camera.lensStatus()).toMatchObject(
        isReported ? { focalPowerDpt: 1, state: 'fault' } : { focalPowerDpt: 2, state: 'ready' },
      );
      expect((await camera.grab()).focalPowerDpt).toBe(isReported ? 1 : 2);
    }
  });

  it('property: a lost link stays lost; parking and closing still never throw', async () => {
    const { camera } = benchWith({ kind: 'lost-link', frameCount: 2 });
    await camera.grab();
    await camera.grab();
    await expect(camera.grab()).rejects.toMatchObject({ code: 'camera-link-lost' });
    await expect(camera.setFocalPower({ focalPowerDpt: 0 })).rejects.toMatchObject({ code: 'camera-link-lost' });
    await camera.park();
    await camera.close();
  });

  it('property: saturated light drives the card to the top', async () => {
    const { camera } = benchWith(usualFaults['saturated-light']);
    const { data } = (await camera.grab()).image;
    const top = Math.max(...data);
    expect(data.filter((value) => value === top).length / data.length).toBeGreaterThan(0.3);
  });

  it('property: a lens that gets hot reads so from its time on', async () => {
    const { camera } = benchWith({ kind: 'hot-lens', afterMs: 500, riseDegC: 60 });
    const before = (await camera.lensStatus()).temperatureDegC!;
    await camera.clock.sleep(499);
    expect((await camera.lensStatus()).temperatureDegC! - before).toBeLessThan(1);
    await camera.clock.sleep(2);
    expect((await camera.lensStatus()).temperatureDegC! - before).toBeGreaterThan(59);
  });

  it.each<[Fault, RegExp]>([
    [{ kind: 'lost-frame', probability: 1.2 }, /faults\.lost-frame\.probability is 1\.2/],
    [{ kind: 'late-frame', probability: 0.1, delayMs: -1 }, /delayMs is -1 ms/],
    [{ kind: 'slow-settling', ratio: 0 }, /slow-settling\.ratio/],
    [{ kind: 'stuck-lens', commandCount: 1.5, isReported: true }, /commandCount/],
    [{ kind: 'lost-link', frameCount: -1 }, /frameCount/],
    [{ kind: 'hot-lens', afterMs: -1, riseDegC: 60 }, /afterMs is -1 ms/],
  ])('refuses %j', (fault, message) => {
    expect(() => benchWith(fault)).toThrow(message);
  });

  it('property: every usual fault is accepted and named by its key', () => {
    for (const [kind, fault] of Object.entries(usualFaults)) {
      expect(fault.kind).toBe(kind);
      expect(() => benchWith(fault)).not.toThrow();
    }
  });
});
