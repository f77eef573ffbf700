import { createSocket } from 'node:dgram';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openGenicamCamera } from '../../src/drivers/index.js';
import { loopbackAddress, type ServedStation, serveStation } from './served-station.js';

/** Number of the frame that the foreign packets are of: a stream that takes one for its own throws 50 frames away. */
const foreignFrame = 50;

/** Sends packets like those of a streaming camera to a place where nobody of this test listens. */
async function foreignCamera(): Promise<{ stop(): void }> {
  const listener = createSocket('udp4');
  const address = loopbackAddress();
  await new Promise<void>((resolve) => listener.bind({ address }, resolve));
  const sender = createSocket('udp4');
  const payload = Buffer.alloc(508);
  payload.writeUInt16BE(foreignFrame, 2);
  payload.writeUInt32BE(0x03000001, 4);
  const timer = setInterval(() => {
    for (let i = 0; i < 3; i++) sender.send(payload, listener.address().port, address);
  }, 1);
  return {
    stop() {
      clearInterval(timer);
      sender.close();
      listener.close();
    },
  };
}

describe('packets of another camera on the same machine', () => {
  let served: ServedStation;
  let foreign: Awaited<ReturnType<typeof foreignCamera>>;
  beforeAll(async () => {
    const change = (file: { parts: { sensor: object } }) => {
      Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
    };
    served = await serveStation({ change });
    foreign = await foreignCamera();
  });
  afterAll(async () => {
    foreign.stop();
    await served.close();
  });

  it('property: each stream that is begun beside them gives its frames', async () => {
    const { camera } = await openGenicamCamera(served.address);
    for (let i = 0; i < 12; i++) {
      // Another region begins the stream anew.
      await camera.configure({ region: { xPx: 0, yPx: 0, widthPx: 64 + 16 * i, heightPx: 64 } });
      const { image } = await camera.grab();
      expect(image.data.length).toBe((64 + 16 * i) * 64);
    }
    await camera.close();
  });
});
