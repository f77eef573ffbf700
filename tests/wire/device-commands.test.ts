import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CameraInspection, ReachableCamera } from '../../src/app/camera-list.js';
import { focuswright } from '../cli/run-cli.js';
import { arvControl } from './aravis.js';
import { serveFakeCamera } from './fake-gige-camera.js';
import { type ServedStation, serveStation } from './served-station.js';

describe('focuswright cameras and inspect over the wire', () => {
  let served: ServedStation;
  let lensless: Awaited<ReturnType<typeof serveFakeCamera>>;
  beforeAll(async () => {
    served = await serveStation({
      options: ['--initialise-first'],
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
      },
    });
    lensless = await serveFakeCamera();
  });
  afterAll(async () => {
    await served?.close();
    await lensless?.close();
  });

  it('property: cameras lists what answers, each by the address that opens it', async () => {
    const list = async () => JSON.parse((await focuswright(['cameras', '--json'])).stdout) as ReachableCamera[];
    // A discovery on a busy machine may miss an answer.
    await expect
      .poll(async () => (await list()).find(({ serialNumber }) => serialNumber === served.serialNumber), {
        timeout: 60_000,
      })
      .toMatchObject({ address: `genicam:${served.address}`, model: 'Simulated glaze-line', protocol: 'GigEVision' });
  });

  it('property: inspect tells identity, ranges and access, and leaves a lens that is not initialised as it is', async () => {
    const { stdout, code } = await focuswright(['inspect', `genicam:${served.address}`]);
    expect(code).toBe(0);
    expect(stdout).toContain(`serial number ${served.serialNumber} (simulated)`);
    expect(stdout).toMatch(/FocalPower +float +\S+ +0.* −2 … 3 dpt/);
    expect(stdout).toContain('Lens: −2 … 3 dpt');
    expect(stdout).toContain('No feature map is needed.');
    expect(await arvControl(served.address, 'OpticControllerStatus', 'FocalPowerWriteCount')).toEqual([
      'OpticControllerStatus = NotInitialized',
      expect.stringContaining('= 0'),
    ]);
  });

  it('property: of a camera without a lens inspect says so, and what a feature map would need', async () => {
    const { stdout } = await focuswright(['inspect', lensless.address, '--json']);
    const { lens, featureMapNeeds } = JSON.parse(stdout) as CameraInspection;
    expect(lens).toBeNull();
    expect(featureMapNeeds.map(({ key }) => key)).toEqual([
      'controls.featureMap.power, or .current',
      'controls.featureMap.enable',
      'controls.featureMap.temperature',
      'controls.featureMap.serialNumber',
    ]);
  });

  it('property: a frame of a camera as it stands is measured, with a lens, which nobody touches, and without one', async () => {
    const ofStation = await focuswright(['measure', 'focus', `genicam:${served.address}`, '--json']);
    expect(ofStation.stderr).toContain('Caution');
    expect(JSON.parse(ofStation.stdout)).toMatchObject({
      file: `sim:genicam:${served.serialNumber}`,
      sha256: expect.stringMatching(/^[0-9a-f]{64}$/),
      widthPx: 320,
      heightPx: 256,
      regions: [expect.objectContaining({ kind: 'measured' })],
    });
    expect(await arvControl(served.address, 'OpticControllerStatus', 'FocalPowerWriteCount')).toEqual([
      'OpticControllerStatus = NotInitialized',
      expect.stringContaining('= 0'),
    ]);
    const ofLensless = await focuswright(['measure', 'focus', `genicam:${lensless.address}`]);
    expect(ofLensless.code).toBe(0);
    expect(ofLensless.stdout).toMatch(/^sim:genicam:F\d+: 512 × 512 px, 8 bit/);
    const paged = await focuswright(['measure', 'focus', `genicam:${served.address}`, '--page', '2']);
    expect(paged.code).toBe(2);
  });

  it('refuses a camera that is not there, with the remedy', async () => {
    const { code, stderr } = await focuswright(['inspect', '127.0.77.1']);
    expect(code).toBe(2);
    expect(stderr).toMatch(/No camera answers[\s\S]*focuswright cameras/);
    // Cautions stand before the first connection, whatever becomes of it.
    const focus = await focuswright(['autofocus', '--camera', 'genicam:127.0.77.1']);
    expect(focus.stderr).toMatch(/Caution: .*IEC 62471[\s\S]*Caution: .*ISO 12100[\s\S]*No camera answers/);
    const simulated = await focuswright(['autofocus', '--camera', 'simulated', '--station', 'relay-pins']);
    expect(simulated.stderr).not.toContain('Caution');
  });
});
