import { afterEach, describe, expect, it } from 'vitest';
import { openPlainClient, type PlainClient, type SeenFrame } from './plain-client.js';
import { type ServedStation, serveStation } from './served-station.js';

const controllerError = 5;
const pause = (durationMs: number) => new Promise((resolve) => setTimeout(resolve, durationMs));

describe('faults of the wire and of the station, seen by a client', () => {
  let served: ServedStation;
  let client: PlainClient;
  afterEach(async () => {
    client.close();
    await served.close();
  });

  const open = (...faults: string[]) => openWith(['--faults', ...faults]);

  async function openWith(options: readonly string[]): Promise<void> {
    served = await serveStation({
      options,
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
      },
    });
    client = await openPlainClient(served.address);
  }

  /** Frames so small that a client which is held up for a while finds them all in its buffer. */
  async function smallFrames(): Promise<void> {
    await client.writeRegister(0xa00, 2);
    await client.set('Width', 64);
    await client.set('Height', 64);
  }

  async function frames(count: number): Promise<SeenFrame[]> {
    const seen: SeenFrame[] = [];
    for (let i = 0; i < 10 * count && seen.length < count; i++) {
      const frame = await client.nextFrame(3000);
      if (frame) seen.push(frame);
    }
    return seen;
  }

  it('property: of lost packets about as many as said are missing, and packets come again when asked for', async () => {
    await open('packet-loss=0.1', 'packets-out-of-order=0.1');
    // One frame after the other, so that nothing is lost but what the fault takes.
    await client.writeRegister(0xa00, 2);
    await client.set('TriggerMode', 1);
    await client.startStream(1400);
    const seen: SeenFrame[] = [];
    while (seen.length < 12) {
      const next = client.nextFrame(700);
      await client.set('TriggerSoftware', 1);
      // A frame whose trailer is lost is never told.
      const frame = await next;
      if (frame) seen.push(frame);
    }
    const missing = seen.flatMap((frame) => frame.missing);
    const torn = seen.at(-1)!;
    await expect
      .poll(() => {
        client.askAgain(torn.blockId, 1, 20);
        return new Set(client.afterwards.filter((p) => p.blockId === torn.blockId).map((p) => p.packetId)).size;
      })
      .toBeGreaterThanOrEqual(20);
    await client.set('AcquisitionStop', 1);
    const packets = seen.length * (Math.ceil((320 * 256) / 1364) + 2);
    expect(missing.length / packets).toBeGreaterThan(0.05);
    expect(missing.length / packets).toBeLessThan(0.17);
    expect(seen.reduce((sum, { lateCount }) => sum + lateCount, 0)).toBeGreaterThan(10);
  });

  it('property: frames come out of order and late, each whole and with its own time', async () => {
    await open('frames-out-of-order=0.4', 'late-frame=0.3');
    await smallFrames();
    await client.startStream(9000);
    const seen = await frames(14);
    await client.set('AcquisitionStop', 1);
    const ids = seen.map(({ blockId }) => blockId);
    expect(ids).not.toEqual([...ids].sort((a, b) => a - b));
    expect(new Set(ids).size).toBe(ids.length);
    const inOrder = [...seen].sort((a, b) => a.blockId - b.blockId);
    for (let i = 1; i < inOrder.length; i++) expect(inOrder[i]!.timestampNs > inOrder[i - 1]!.timestampNs).toBe(true);
    expect(seen.every(({ missing }) => missing.length === 0)).toBe(true);
  });

  it('property: a killed camera falls silent, and its address can be served again', async () => {
    await open('killed=5');
    await smallFrames();
    await client.startStream(9000);
    await new Promise((resolve) => served.process.once('close', resolve));
    await expect.poll(() => client.frames.length).toBeGreaterThanOrEqual(4);
    expect(client.frames.length).toBeLessThanOrEqual(5);
    const again = await serveStation({ address: served.address });
    await again.close();
  });

  it('property: a pulled cable leaves commands without answer', async () => {
    await open('lost-link=3');
    await client.startStream(9000);
    const seen = await frames(3);
    expect(seen).toHaveLength(3);
    await pause(500);
    await expect(client.getFloat('FocalPower')).rejects.toThrow(/no answer/);
  });

  it('property: a lens that gets too hot says Error', async () => {
    await open('hot-lens=0');
    await expect.poll(() => client.get('OpticControllerStatus')).toBe(controllerError);
    const { temperatureMaxDegC } = served.station.parts.tunableLens;
    expect(await client.getFloat('OpticControllerTemperature')).toBeGreaterThan(temperatureMaxDegC);
  });

  it('property: numbers out of range are clamped where that is wanted, not-a-number never is', async () => {
    await openWith(['--out-of-range', 'clamp', '--silent-motion']);
    await client.writeRegister(0xa00, 2);
    expect(await client.setFloat('FocalPower', 99)).toBe(0);
    expect(await client.get('OpticControllerStatus')).toBe(4);
    expect(await client.getFloat('FocalPower')).toBe(3);
    expect(await client.setFloat('FocalPower', Number.NaN)).toBe(0x8002);
    expect(await client.getFloat('FocalPower')).toBe(3);
    expect(await client.get('OutOfRangeWriteCount')).toBe(2);
    expect(await client.get('FocalPowerWriteCount')).toBe(1);
  });
});
