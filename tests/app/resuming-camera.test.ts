import { describe, expect, it } from 'vitest';
import { resumingCamera } from '../../src/app/resuming-camera.js';
import { FocuswrightError } from '../../src/base/index.js';
import { wrapCamera } from '../../src/devices/index.js';
import { fakeCamera } from '../devices/fake-camera.js';

/** A fake whose link is lost for so many calls once it has been cut. */
function losing(lostCalls: number) {
  const fake = fakeCamera();
  let left = 0;
  const asking = async <T>(call: () => Promise<T>): Promise<T> => {
    if (left > 0) {
      left--;
      throw new FocuswrightError('camera-link-lost', {});
    }
    return call();
  };
  const camera = wrapCamera(fake, {
    grab: () => asking(() => fake.grab()),
    setFocalPower: (command) => asking(() => fake.setFocalPower(command)),
    setExposure: (command) => asking(() => fake.setExposure(command)),
  });
  return { fake, camera, cut: () => (left = lostCalls) };
}

describe('a camera that goes on after a lost link', () => {
  it('recovery: exposure and power are set anew, then the call is made again', async () => {
    const { fake, camera, cut } = losing(4);
    const said: string[] = [];
    const resuming = resumingCamera(camera, { patienceMs: 30_000, onChange: (message) => said.push(message) });
    await resuming.setExposure({ exposureMs: 2 });
    await resuming.setFocalPower({ focalPowerDpt: 1.5 });
    cut();
    const startMs = fake.clock.nowMs();
    expect((await resuming.grab()).focalPowerDpt).toBe(1.5);
    expect(fake.commands).toEqual([1.5, 1.5]);
    expect(fake.clock.nowMs() - startMs).toBeGreaterThan(3000);
    expect(said.length).toBe(2);
  });

  it('refuses when it does not come back in time, or the run is cancelled meanwhile', async () => {
    const { camera, fake, cut } = losing(1000);
    const resuming = resumingCamera(camera, { patienceMs: 10_000, onChange: () => {} });
    await resuming.setFocalPower({ focalPowerDpt: 1 });
    cut();
    await expect(resuming.grab()).rejects.toMatchObject({ code: 'camera-link-lost' });
    expect(fake.clock.nowMs()).toBeLessThan(12_000);
    const cancelled = resumingCamera(camera, { patienceMs: 1e9, onChange: () => {}, signal: { aborted: true } });
    await expect(cancelled.grab()).rejects.toMatchObject({ code: 'camera-link-lost' });
  });
});
