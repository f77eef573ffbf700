import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { arvControl } from './aravis.js';
import { startRig } from './rig.js';

describe('rig of simulated cameras', () => {
  let rig: Awaited<ReturnType<typeof startRig<'hysteresis' | 'must-initialise'>>>;
  beforeAll(async () => {
    rig = await startRig(['hysteresis', 'must-initialise']);
  }, 120_000);
  afterAll(() => rig?.close());

  it('reference: each camera is its own, with its own lens and pixels', async () => {
    const { hysteresis, 'must-initialise': later } = rig.cameras;
    const read = (address: string) => arvControl(address, 'DeviceSerialNumber', 'SensorWidth', 'FocalPower');
    expect(await read(hysteresis.address)).toEqual([
      `DeviceSerialNumber = ${hysteresis.serialNumber}`,
      'SensorWidth = 512 min:512 max:512',
      'FocalPower = 0 dpt min:-2 max:3 inc:0.005',
    ]);
    const { powerMinDpt, powerMaxDpt, controlStepDpt } = later.station.parts.tunableLens;
    expect((await read(later.address))[2]).toBe(
      `FocalPower = 0 dpt min:${powerMinDpt} max:${powerMaxDpt} inc:${controlStepDpt}`,
    );
  });

  it('refuses a power before the lens controller is made ready, and takes it then', async () => {
    const { address } = rig.cameras['must-initialise'];
    const said = await arvControl(address, 'OpticControllerStatus', 'FocalPower=0.5', 'OpticControllerInitialize');
    expect(said[0]).toBe('OpticControllerStatus = NotInitialized');
    expect(said[1]).toMatch(/error|locked|not writable|access/i);
    await expect
      .poll(async () => (await arvControl(address, 'OpticControllerStatus'))[0])
      .toBe('OpticControllerStatus = Ready');
    expect((await arvControl(address, 'FocalPower=0.5'))[0]).toMatch(/^FocalPower = 0\.5 dpt/);
  });
});
