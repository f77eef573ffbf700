import { createSocket } from 'node:dgram';
import { afterAll, bench, describe } from 'vitest';
import { wirePixels } from '../src/app/twin-on-wire/wire-pixels.js';
import { seededRandom } from '../src/base/index.js';
import { noWireFaults, openFrameSender } from '../src/drivers/index.js';
import { framePackets } from '../src/drivers/served-camera/gvsp.js';
import type { GreyImage } from '../src/image/index.js';

const sizes = [
  { widthPx: 1280, heightPx: 1024 },
  { widthPx: 2448, heightPx: 2048 },
];
const receiver = createSocket('udp4');
await new Promise<void>((done) => receiver.bind(0, '127.0.0.1', done));
afterAll(() => receiver.close());

describe.each(sizes)('served camera, Mono8 $widthPx × $heightPx, without rendering', ({ widthPx, heightPx }) => {
  const data = new Uint8Array(widthPx * heightPx).fill(100);
  const deep: GreyImage = { widthPx, heightPx, bitDepth: 12, data: new Uint16Array(widthPx * heightPx).fill(1600) };
  const frame = { blockId: 1, timestampNs: 0n, pixelFormat: 'Mono8', xPx: 0, yPx: 0, widthPx, heightPx, data } as const;

  bench('12 bit to 8 bit', () => {
    wirePixels(deep, { gainDb: 0, pixelFormat: 'Mono8', xPx: 0, yPx: 0, widthPx, heightPx }, { blackLevelDn: 2 });
  });
  bench('12 bit with gain', () => {
    wirePixels(deep, { gainDb: 6, pixelFormat: 'Mono12', xPx: 0, yPx: 0, widthPx, heightPx }, { blackLevelDn: 2 });
  });
  bench('cut into packets of 1400 bytes', () => {
    framePackets(frame, 1400);
  });
  for (const packetByteCount of [1400, 9000]) {
    const sender = openFrameSender({
      host: '127.0.0.1',
      target: { host: '127.0.0.1', port: receiver.address().port, packetByteCount },
      faults: noWireFaults,
      random: seededRandom(1),
    });
    bench(`cut and send in packets of ${packetByteCount} bytes`, async () => {
      await (await sender).send(frame);
    });
  }
});
