import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openPlainClient, type PlainClient, type SeenFrame } from './plain-client.js';
import { type ServedStation, serveStation } from './served-station.js';
import { trueFocusDpt } from './true-focus.js';

const ready = 4;
const busy = 3;
const accessDenied = 0x8006;
const pause = (durationMs: number) => new Promise((resolve) => setTimeout(resolve, durationMs));

async function until(what: () => Promise<boolean>): Promise<void> {
  for (let i = 0; i < 400 && !(await what()); i++) await pause(25);
}

/** Mean square of the differences between neighbours, over the square of the mean: unchanged by light. */
function sharpness({ data, widthPx }: SeenFrame): number {
  let squares = 0;
  let sum = 0;
  for (let i = 1; i < data.length; i++) {
    sum += data[i]!;
    if (i % widthPx !== 0) squares += (data[i]! - data[i - 1]!) ** 2;
  }
  return (squares * data.length) / sum ** 2;
}

describe('served camera, packet by packet', () => {
  let served: ServedStation;
  let client: PlainClient;
  beforeAll(async () => {
    served = await serveStation({
      seed: 8,
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
      },
    });
  });
  afterAll(() => served.close());
  beforeEach(async () => {
    client = await openPlainClient(served.address);
    await until(async () => (await client.writeRegister(0xa00, 2)) === 0);
  });
  afterEach(async () => {
    await client.set('AcquisitionStop', 1);
    await client.writeRegister(0xa00, 0);
    client.close();
  });

  async function triggered(): Promise<SeenFrame> {
    const next = client.nextFrame(20_000);
    await client.set('TriggerSoftware', 1);
    const frame = await next;
    if (!frame) throw new Error('no frame');
    return frame;
  }

  it('recovery: frames are sharpest at the power that the hidden build errors make true', async () => {
    const workingDistanceMm = 420;
    await client.setFloat('TargetDistance', workingDistanceMm);
    await until(async () => (await client.get('TargetStatus')) === 0);
    await client.set('TriggerMode', 1);
    await client.startStream(9000);
    const temperatureDegC = await client.getFloat('OpticControllerTemperature');
    const truthDpt = trueFocusDpt(served, { workingDistanceMm, temperatureDegC });
    const stepDpt = 0.1;
    const offsets = Array.from({ length: 9 }, (_, i) => (i - 4) * stepDpt);
    await client.setFloat('FocalPower', Math.max(-2, truthDpt - 1));
    const seen: number[] = [];
    for (const offsetDpt of offsets) {
      await client.setFloat('FocalPower', truthDpt + offsetDpt);
      await pause(80);
      seen.push(sharpness(await triggered()));
    }
    const best = seen.indexOf(Math.max(...seen));
    const [a, b, c] = [seen[best - 1]!, seen[best]!, seen[best + 1]!].map(Math.log) as [number, number, number];
    const foundDpt = offsets[best]! + (stepDpt * (a - c)) / (2 * (a - 2 * b + c));
    expect(Math.abs(foundDpt)).toBeLessThan(0.04);
  });

  it('property: the lens takes its real time, its status says Busy meanwhile, and then stands still', async () => {
    await client.set('TriggerMode', 1);
    await client.startStream(9000);
    const { deadTimeMs, naturalFrequencyHz, dampingRatio } = served.station.parts.tunableLens;
    const startMs = performance.now();
    await client.setFloat('FocalPower', 3);
    const first = await client.get('OpticControllerStatus');
    // A machine too busy to ask in time cannot tell.
    if (performance.now() - startMs < deadTimeMs) expect(first).toBe(busy);
    await until(async () => (await client.get('FocusStatus')) === ready);
    const settlingMs = deadTimeMs + (1000 * 4) / (2 * Math.PI * naturalFrequencyHz * dampingRatio);
    expect(performance.now() - startMs).toBeGreaterThan(settlingMs - 1);
    await pause(100);
    const [a, b] = [await triggered(), await triggered()];
    expect(Math.abs(Math.log(sharpness(a) / sharpness(b)))).toBeLessThan(0.1);
    await client.setFloat('FocalPower', 0);
  });

  it('closed form: time stamps tell the exposures on the clock that can be latched', async () => {
    await client.set('TriggerMode', 1);
    await client.startStream(9000);
    const latched = async () => {
      await client.writeRegister(0x944, 2);
      return (await client.readMemory(0x948, 8)).readBigUInt64BE(0);
    };
    const before = await latched();
    const { timestampNs } = await triggered();
    const after = await latched();
    expect(timestampNs).toBeGreaterThan(before);
    expect(timestampNs).toBeLessThan(after);
  });

  it('closed form: gain multiplies what is above the black level', async () => {
    await client.set('TriggerMode', 1);
    await client.startStream(9000);
    const mean = ({ data }: SeenFrame) => data.reduce((sum, grey) => sum + grey, 0) / data.length;
    await client.setFloat('ExposureTime', 150);
    await pause(30);
    const plain = mean(await triggered());
    await client.setFloat('Gain', 6);
    await pause(30);
    const amplified = mean(await triggered());
    await client.setFloat('Gain', 0);
    await client.setFloat('ExposureTime', 600);
    const { blackLevelDn } = served.station.parts.sensor;
    expect((amplified - blackLevelDn) / (plain - blackLevelDn)).toBeCloseTo(10 ** (6 / 20), 1);
  });

  it('property: a region is that part of the whole frame', async () => {
    await client.set('TriggerMode', 1);
    await client.set('Width', 64);
    await client.set('Height', 48);
    await client.set('OffsetX', 100);
    await client.set('OffsetY', 80);
    await client.startStream(1500);
    const part = await triggered();
    await client.set('AcquisitionStop', 1);
    for (const [name, value] of Object.entries({ OffsetX: 0, OffsetY: 0, Width: 320, Height: 256 }))
      expect(await client.set(name, value)).toBe(0);
    await client.startStream(1500);
    const whole = await triggered();
    expect([part.widthPx, part.heightPx, part.data.length]).toEqual([64, 48, 64 * 48]);
    let difference = 0;
    for (let y = 0; y < 48; y++) {
      for (let x = 0; x < 64; x++) difference += part.data[y * 64 + x]! - whole.data[(80 + y) * 320 + 100 + x]!;
    }
    // The same scene with other noise: the means agree far closer than with any other place.
    expect(Math.abs(difference / (64 * 48))).toBeLessThan(1);
  });

  it('refuses a second client, lets it read, and lets it in when the first has gone silent', async () => {
    const second = await openPlainClient(served.address);
    expect(await second.writeRegister(0xa00, 2)).toBe(accessDenied);
    expect(await second.setFloat('FocalPower', 1)).toBe(accessDenied);
    expect(await second.getFloat('FocalPower')).toBe(0);
    // Long enough for a busy machine to use the control that it has got.
    await client.writeRegister(0x938, 1500);
    await until(async () => (await second.writeRegister(0xa00, 2)) === 0);
    expect(await second.setFloat('FocalPower', 1)).toBe(0);
    expect(await client.setFloat('FocalPower', 2)).toBe(accessDenied);
    await second.setFloat('FocalPower', 0);
    await second.writeRegister(0x938, 3000);
    await second.writeRegister(0xa00, 0);
    second.close();
  });

  it('refuses unknown addresses, half registers, values of read-only features and of locked ones', async () => {
    const places = await client.features();
    expect(await client.writeRegister(0x50000, 1)).toBe(0x8003);
    expect(await client.writeRegister(places.get('FocalPower')!, 0)).toBe(0x8005);
    expect(await client.setFloat('OpticControllerTemperature', 20)).toBe(0x8004);
    expect(await client.set('PixelFormat', 0x01100005)).toBe(0x8002);
    await client.startStream(1500);
    expect(await client.set('Width', 64)).toBe(accessDenied);
  });
});
