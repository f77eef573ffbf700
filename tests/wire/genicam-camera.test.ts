import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { guardLens } from '../../src/devices/index.js';
import { openGenicamCamera } from '../../src/drivers/index.js';
import { contractSuite } from '../devices/contract-suite.js';
import { arvControl } from './aravis.js';
import { serveFakeCamera } from './fake-gige-camera.js';
import { type ServedStation, serveStation } from './served-station.js';

const small = (file: { parts: { sensor: object } }) => {
  Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256, frameRateHz: 500, readoutMs: 1 });
};

describe('a simulated station on the wire', () => {
  let served: ServedStation;
  beforeAll(async () => {
    served = await serveStation({ change: small, options: ['--silent-motion'] });
  });
  afterAll(() => served.close());

  contractSuite('GenICam camera', async () => {
    const { camera, stage } = await openGenicamCamera(served.address);
    return { camera, stage: stage! };
  });

  it('property: it says that it is simulated, by its id and on every frame; and who it is', async () => {
    const { camera } = await openGenicamCamera(served.address);
    expect(camera.simulated).toBe(true);
    expect(await camera.identify()).toMatchObject({
      id: `sim:genicam:${served.serialNumber}`,
      serialNumber: served.serialNumber,
      lensSerialNumber: `${served.serialNumber}-L`,
    });
    expect((await camera.grab()).source).toBe(`sim:genicam:${served.serialNumber}`);
    await camera.close();
  });

  it('closed form: a feature map gives the steps of FocusStepper their power', async () => {
    const power = { feature: 'FocusStepper', perUnitDpt: -0.005, atZeroDpt: 3 };
    const { camera } = await openGenicamCamera(served.address, { featureMap: { power, enable: [] } });
    expect(await camera.capabilities()).toMatchObject({ powerMinDpt: -2, powerMaxDpt: 3, controlStepDpt: 0.005 });
    expect(await camera.setFocalPower({ focalPowerDpt: 1.5 })).toBeCloseTo(1.5, 9);
    expect(await arvControl(served.address, 'FocusStepper', 'FocalPower')).toEqual([
      expect.stringContaining('FocusStepper = 300'),
      expect.stringContaining('FocalPower = 1.5 '),
    ]);
    await camera.close();
  });

  it('property: of 10,000 random commands not one out of range reaches the camera, which counts them', async () => {
    const { camera } = await openGenicamCamera(served.address, { limits: { powerMinDpt: -1.5, powerMaxDpt: 2 } });
    const guarded = await guardLens(camera, { powerMinDpt: -1, powerMaxDpt: 5 });
    const before = await counts(served.address);
    let seed = 1;
    const draw = () => {
      seed = (seed * 16807) % 2147483647;
      return seed / 2147483647;
    };
    const odd = [Number.NaN, Infinity, -Infinity, 1e308, -1e308, 1e-300, -0, 2.0000001, -1.0000001];
    let refused = 0;
    let taken = 0;
    for (let i = 0; i < 10_000; i++) {
      const focalPowerDpt =
        draw() < 0.1 ? odd[Math.floor(draw() * odd.length)]! : (draw() - 0.5) * 10 ** (4 * draw() - 1);
      const target = i % 2 ? camera : guarded;
      await target.setFocalPower({ focalPowerDpt }).then(
        (commanded) => {
          taken++;
          expect(commanded).toBeGreaterThanOrEqual(target === camera ? -1.5 : -1);
          expect(commanded).toBeLessThanOrEqual(2);
        },
        () => {
          refused++;
        },
      );
    }
    await camera.close();
    const after = await counts(served.address);
    expect(after.outOfRange).toBe(before.outOfRange);
    // Each command that was taken, and the parking at the end.
    expect(after.written - before.written).toBe(taken + 1);
    expect(refused).toBeGreaterThan(2000);
    expect(taken).toBeGreaterThan(5000);
  }, 180_000);

  it('property: 5,000 frames are taken without a growth of memory, none of them of another size', async () => {
    const { camera } = await openGenicamCamera(served.address);
    await camera.configure({ region: { xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 }, frameRateHz: 500 });
    await camera.setExposure({ exposureMs: 0.2 });
    let seen = 0;
    let afterWarmUpBytes = 0;
    for await (const { image } of camera.stream({ count: 5000 })) {
      if (image.data.length !== 4096) throw new Error(`a frame of ${image.data.length} pixels`);
      if (++seen === 1000) afterWarmUpBytes = process.memoryUsage.rss();
    }
    expect(seen).toBe(5000);
    expect(process.memoryUsage.rss() - afterWarmUpBytes).toBeLessThan(60e6);
    await camera.close();
  }, 180_000);

  it('property: a frame is exposed after the power it carries was commanded, also in a free run', async () => {
    const { camera } = await openGenicamCamera(served.address);
    await camera.configure({ trigger: 'free' });
    for (const focalPowerDpt of [1, -1, 0.5]) {
      await camera.setFocalPower({ focalPowerDpt });
      const commandedAtMs = camera.clock.nowMs();
      const frame = await camera.grab();
      expect(frame.focalPowerDpt).toBeCloseTo(focalPowerDpt, 2);
      expect(frame.exposedAtMs).toBeGreaterThan(commandedAtMs);
    }
    await camera.close();
  });
});

async function counts(address: string): Promise<{ outOfRange: number; written: number }> {
  const [outOfRange, written] = (await arvControl(address, 'OutOfRangeWriteCount', 'FocalPowerWriteCount')).map(
    (line) => Number(/= (\d+)/.exec(line)?.[1]),
  );
  return { outOfRange: outOfRange!, written: written! };
}

describe('the independent server of Aravis', () => {
  let served: Awaited<ReturnType<typeof serveFakeCamera>>;
  beforeAll(async () => {
    served = await serveFakeCamera();
  });
  afterAll(() => served.close());

  it('property: a camera without a lens measures, and refuses what needs one', async () => {
    const { camera, stage } = await openGenicamCamera(served.address);
    expect(stage).toBeNull();
    expect(await camera.capabilities()).toMatchObject({
      hasLens: false,
      powerMinDpt: 0,
      powerMaxDpt: 0,
      powersDpt: [0],
    });
    expect(await camera.lensStatus()).toMatchObject({ state: 'no-lens' });
    expect((await camera.identify()).lensModel).toBe('none');
    await camera.setExposure({ exposureMs: 10 });
    const { image } = await camera.grab();
    expect(image).toMatchObject({ widthPx: 512, heightPx: 512, bitDepth: 8 });
    // Its picture is a ramp, scaled by exposure and gain.
    expect(new Set(image.data).size).toBeGreaterThan(100);
    await expect(camera.setFocalPower({ focalPowerDpt: 0.1 })).rejects.toMatchObject({ code: 'lens-missing' });
    await expect(camera.setFocalCurrent({ currentMa: 1 })).rejects.toMatchObject({ code: 'lens-missing' });
    await camera.close();
  });

  it('property: sizes, depths and colour mosaics come as they are set', async () => {
    const { camera } = await openGenicamCamera(served.address);
    const region = { xPx: 16, yPx: 8, widthPx: 200, heightPx: 100 };
    for (const [pixelFormat, bitDepth] of [
      ['Mono16', 16],
      ['BayerRG8', 8],
      ['Mono8', 8],
    ] as const) {
      expect(await camera.configure({ pixelFormat, region })).toMatchObject({ pixelFormat, region });
      const { image } = await camera.grab();
      expect(image).toMatchObject({ widthPx: 200, heightPx: 100, bitDepth });
    }
    await expect(camera.configure({ pixelFormat: 'RGB8' })).rejects.toMatchObject({ code: 'setting-refused' });
    await camera.close();
  });

  it('reference: a feature map drives a lens by registers of other names, in milli-dioptres and inside their limits', async () => {
    const power = {
      feature: 'TestRegister',
      perUnitDpt: 0.001,
      atZeroDpt: -1,
      minFeature: 'OffsetX',
      maxFeature: 'SensorWidth',
    };
    const featureMap = { power, serialNumber: 'DeviceID', enable: ['OffsetX=0', 'BinningVertical=2'] };
    const { camera } = await openGenicamCamera(served.address, { featureMap, parkPowerDpt: -0.5 });
    expect(await camera.capabilities()).toMatchObject({ hasLens: true, powerMinDpt: -1, powerMaxDpt: 1.048 });
    expect(await camera.setFocalPower({ focalPowerDpt: 0.2504 })).toBeCloseTo(0.25, 9);
    expect((await camera.lensStatus()).state).toBe('unknown');
    expect((await camera.grab()).focalPowerDpt).toBeCloseTo(0.25, 9);
    await expect(camera.setFocalPower({ focalPowerDpt: 1.05 })).rejects.toMatchObject({
      code: 'lens-power-out-of-range',
    });
    await camera.close();
    expect(await arvControl(served.address, 'TestRegister', 'BinningVertical')).toEqual([
      expect.stringContaining('TestRegister = 500'),
      expect.stringContaining('BinningVertical = 2'),
    ]);
  });

  it('reference: a lens driven by current takes powers by its slope, and currents inside their limits', async () => {
    const current = {
      feature: 'TestRegister',
      perUnitMa: 0.1,
      minFeature: 'OffsetX',
      maxFeature: 'SensorWidth',
      perMaDpt: 0.02,
      withoutCurrentDpt: -1,
    };
    const { camera } = await openGenicamCamera(served.address, {
      featureMap: { current, enable: ['OffsetX=0'] },
      limits: { currentMaxMa: 150 },
      parkPowerDpt: -1,
    });
    expect(await camera.capabilities()).toMatchObject({
      powerMinDpt: -1,
      powerMaxDpt: 2,
      currentMinMa: 0,
      currentMaxMa: 150,
    });
    expect(await camera.setFocalPower({ focalPowerDpt: 1 })).toBeCloseTo(1, 9);
    expect(await camera.lensStatus()).toMatchObject({ currentMa: expect.closeTo(100, 6) });
    expect(await camera.setFocalCurrent({ currentMa: 20 })).toBeCloseTo(20, 9);
    await expect(camera.setFocalCurrent({ currentMa: 151 })).rejects.toMatchObject({
      code: 'lens-current-out-of-range',
    });
    await camera.close();
    expect((await arvControl(served.address, 'TestRegister'))[0]).toContain('TestRegister = 0');
  });
});
