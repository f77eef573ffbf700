import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { openLiveCamera } from '../../src/app/index.js';
import { guardLens } from '../../src/devices/index.js';
import { openGenicamCamera } from '../../src/drivers/index.js';
import { measureFocus } from '../../src/image/index.js';
import { arvControl } from './aravis.js';
import { openPlainClient } from './plain-client.js';
import { type ServedStation, type ServeOrder, serveStation } from './served-station.js';

const controllerError = 5;

const small: ServeOrder['change'] = (file) => {
  Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
};

async function withStation<T>(order: ServeOrder, work: (served: ServedStation) => Promise<T>): Promise<T> {
  const served = await serveStation({ change: small, ...order });
  try {
    return await work(served);
  } finally {
    await served.kill();
  }
}

describe('faults over the wire', () => {
  it('property: a camera killed in a sweep is noticed within a second; the same camera object goes on when it is back', async () => {
    await withStation({}, async (served) => {
      const { camera } = await openGenicamCamera(served.address);
      await camera.setFocalPower({ focalPowerDpt: 0.5 });
      await camera.grab();
      await served.kill();
      const ownTime = watchOwnTime();
      await expect(camera.grab()).rejects.toMatchObject({ code: 'camera-link-lost' });
      // On a clock that stands still while a busy machine lets this process wait; tests/drivers/frame-taker.test.ts is strict.
      expect(ownTime.elapsedMs()).toBeLessThan(1000);
      // Parking never throws, and ends in bounded time.
      await camera.park();
      // Another camera at the same address is not taken for it.
      await withStation({ address: served.address }, async () => {
        await expect(camera.grab()).rejects.toMatchObject({
          code: 'camera-link-lost',
          cause: { code: 'camera-not-found' },
        });
      });
      const options = ['--serial', served.serialNumber];
      await withStation({ address: served.address, options }, async () => {
        await expect
          .poll(
            () =>
              camera.grab().then(
                (frame) => frame.focalPowerDpt,
                () => null,
              ),
            { timeout: 20_000 },
          )
          .toBe(0);
        await camera.setFocalPower({ focalPowerDpt: 1 });
        expect((await camera.grab()).focalPowerDpt).toBe(1);
        await camera.close();
        expect((await arvControl(served.address, 'FocalPower'))[0]).toContain('FocalPower = 0 ');
      });
    });
  }, 120_000);

  it('property: with 2 % of packets lost, resent or not, each frame that counts is whole', async () => {
    for (const options of [['packet-loss=0.02'], ['packet-loss=0.02', 'no-resend']]) {
      await withStation({ options: ['--faults', ...options] }, async (served) => {
        const { camera } = await openGenicamCamera(served.address);
        for (let i = 0; i < 15; i++) {
          const { image } = await camera.grab();
          expect(image.data.length).toBe(320 * 256);
          // A missing packet would leave a run of zeros; the dark of this sensor is 2 DN.
          expect(longestRunOf(0, image.data)).toBeLessThan(500);
        }
        await camera.close();
      });
    }
  }, 120_000);

  it('property: frames and packets late or out of order: each frame shows the power it carries', async () => {
    const faults = ['late-frame=0.3', 'packets-out-of-order=0.2', 'frames-out-of-order=0.2'];
    await withStation({ options: ['--faults', ...faults] }, async (served) => {
      const { camera } = await openGenicamCamera(served.address);
      let last = 0;
      const sharpness: Record<string, number[]> = { '-1.5': [], '0.5': [] };
      for (let i = 0; i < 12; i++) {
        const focalPowerDpt = i % 2 === 0 ? -1.5 : 0.5;
        await camera.setFocalPower({ focalPowerDpt });
        const calledMs = camera.clock.nowMs();
        const frame = await camera.grab();
        expect(frame.frameId).toBeGreaterThan(last);
        expect(frame.exposedAtMs).toBeGreaterThanOrEqual(calledMs);
        expect(frame.focalPowerDpt).toBeCloseTo(focalPowerDpt, 9);
        sharpness[focalPowerDpt]!.push(measureFocus({ image: frame.image, measure: 'tenengrad' }));
        last = frame.frameId;
      }
      // The target is near focus at one of the two powers and far off at the other: no frame shows the wrong one.
      expect(Math.min(...sharpness['0.5']!)).toBeGreaterThan(1.5 * Math.max(...sharpness['-1.5']!));
      await camera.close();
    });
  }, 120_000);

  it('property: frames that a busy machine tears for longer than packets take become whole', async () => {
    await withStation({ options: ['--faults', 'packets-stalled=0.2', 'no-resend'] }, async (served) => {
      const { camera } = await openGenicamCamera(served.address);
      for (let i = 0; i < 8; i++) expect((await camera.grab()).image.data.length).toBe(320 * 256);
      await camera.close();
    });
  }, 120_000);

  it('refuses a camera that another client controls, and one that is not there; takes it once it is free', async () => {
    const serial = `S${Math.floor(Math.random() * 1e9)}`;
    await withStation({ options: ['--serial', serial] }, async (served) => {
      const first = await openGenicamCamera(served.address);
      await expect(openGenicamCamera(served.address)).rejects.toMatchObject({ code: 'camera-in-use' });
      await expect(openGenicamCamera('127.0.77.1')).rejects.toMatchObject({ code: 'camera-not-found' });
      await expect(openGenicamCamera('no-such-serial')).rejects.toMatchObject({ code: 'camera-not-found' });
      await first.camera.close();
      const second = await openGenicamCamera(served.serialNumber);
      expect((await second.camera.identify()).serialNumber).toBe(served.serialNumber);
      await second.camera.close();
    });
  }, 120_000);

  it('property: a controller that must be initialised is; its lens is driven then', async () => {
    await withStation({ options: ['--initialise-first'] }, async (served) => {
      const { camera } = await openGenicamCamera(served.address);
      expect(await camera.capabilities()).toMatchObject({ hasLens: true, powerMinDpt: -2, powerMaxDpt: 3 });
      expect(await camera.setFocalPower({ focalPowerDpt: 1 })).toBe(1);
      await camera.close();
    });
  });

  it('refuses a feature map that names what the camera has not, says which, and lets the camera go', async () => {
    await withStation({}, async (served) => {
      const power = { feature: 'LensPowerMilliDioptre', perUnitDpt: 0.001, atZeroDpt: 0 };
      for (let i = 0; i < 2; i++) {
        await expect(openGenicamCamera(served.address, { featureMap: { power, enable: [] } })).rejects.toMatchObject({
          code: 'feature-missing',
          message: expect.stringContaining('LensPowerMilliDioptre'),
          remedy: expect.stringContaining('inspect'),
        });
      }
    });
  });

  it('property: a lens that gets too hot while nobody looks through the camera is parked', async () => {
    await withStation({ options: ['--faults', 'hot-lens=8000'] }, async (served) => {
      const live = await openLiveCamera(`genicam:${served.address}`, served.station);
      await live.command({ focalPowerDpt: 2 });
      const watched = await openPlainClient(served.address);
      // Where it is parked from, before the heat.
      await expect.poll(() => watched.getFloat('FocalPower'), { interval: 20 }).toBe(2);
      await expect.poll(() => watched.get('OpticControllerStatus')).toBe(controllerError);
      await expect.poll(() => watched.getFloat('FocalPower')).toBe(0);
      watched.close();
      await live.close();
    });
  });

  it('property: without the library only what needs it is refused, with the way to install it', async () => {
    const environment = { ...process.env, FOCUSWRIGHT_ARAVIS: '/nowhere/libaravis-0.8.so.0' };
    const run = (...args: string[]) => {
      const { status, stdout, stderr } = spawnSync(process.execPath, ['dist/cli/main.js', ...args], {
        env: environment,
        encoding: 'utf8',
      });
      return { status, said: stdout + stderr };
    };
    for (const args of [['cameras'], ['inspect', '127.0.0.1'], ['autofocus', '--camera', 'genicam:127.0.0.1']]) {
      const { status, said } = run(...args);
      expect(status).toBe(2);
      expect(said).toMatch(/library[\s\S]*libaravis-0\.8-0/);
    }
    expect(run('check')).toMatchObject({
      status: 4,
      said: expect.stringMatching(/fails.*library[\s\S]*libaravis-0\.8-0/),
    });
    expect(run('autofocus', '--camera', 'simulated', '--station', 'relay-pins').status).toBe(0);
  });

  it('property: a lens above its temperature is parked, and takes no command until it has cooled', async () => {
    await withStation({ options: ['--faults', 'hot-lens=0'] }, async (served) => {
      const { camera } = await openGenicamCamera(served.address, { parkPowerDpt: 0.25 });
      const limits = { powerMinDpt: -2, powerMaxDpt: 3, temperatureMaxDegC: 65 };
      const guarded = await guardLens(camera, limits);
      await guarded.setFocalPower({ focalPowerDpt: 2 });
      await expect(guarded.grab()).rejects.toMatchObject({ code: 'lens-too-hot' });
      expect((await camera.lensStatus()).focalPowerDpt).toBe(0.25);
      await expect(guarded.setFocalPower({ focalPowerDpt: 2 })).rejects.toMatchObject({ code: 'lens-too-hot' });
      expect((await camera.lensStatus()).focalPowerDpt).toBe(0.25);
      await camera.close();
    });
  });
});

/** Time in which this process could work: each slice of it counts once, however late it ends. */
function watchOwnTime(): { elapsedMs(): number } {
  const sliceMs = 10;
  let elapsedMs = 0;
  const timer = setInterval(() => {
    elapsedMs += sliceMs;
  }, sliceMs);
  return {
    elapsedMs() {
      clearInterval(timer);
      return elapsedMs;
    },
  };
}

function longestRunOf(grey: number, data: ArrayLike<number>): number {
  let longest = 0;
  for (let i = 0, run = 0; i < data.length; i++) {
    run = data[i] === grey ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}
