import { describe, expect, it } from 'vitest';
import type { AravisCalls } from '../../src/drivers/genicam/calls.js';
import { deviceLink } from '../../src/drivers/genicam/device-link.js';
import { makeStream } from '../../src/drivers/genicam/make-stream.js';

const ordinarySocket = 1;

/** A library whose streams have received so many packets before their camera sends, in turn. */
function library({ receivedBefore, isGigE = true }: { receivedBefore: readonly number[]; isGigE?: boolean }) {
  const made: { socket: 'ordinary' | 'any'; isFreed: boolean }[] = [];
  let option = 0;
  const calls = {
    camera: {
      isGigE: () => (isGigE ? 1 : 0),
      device: () => 1n,
      setStreamOptions: (_: unknown, wanted: number) => {
        option = wanted;
      },
      createStream: {
        async later() {
          made.push({ socket: option === ordinarySocket ? 'ordinary' : 'any', isFreed: false });
          return BigInt(made.length);
        },
      },
    },
    stream: { setInteger() {}, setDouble() {}, counter: (stream: bigint) => receivedBefore[Number(stream) - 1] ?? 0 },
    unref: {
      async later(stream: bigint) {
        made[Number(stream) - 1]!.isFreed = true;
      },
    },
  } as unknown as AravisCalls;
  return { calls, made };
}

const payloadBytes = 1280 * 1024;
const make = ({ calls }: { calls: AravisCalls }, bufferMaxBytes: number) =>
  makeStream(calls, 1n, deviceLink('test'), { payloadBytes, bufferMaxBytes });

describe('the stream by which frames come', () => {
  it('closed form: an ordinary socket where the system lets it hold a frame, another one only where not', async () => {
    for (const [bufferMaxBytes, socket] of [
      [4_194_304, 'ordinary'],
      [Number.POSITIVE_INFINITY, 'ordinary'],
      [212_992, 'any'],
    ] as const) {
      const at = library({ receivedBefore: [] });
      expect(await make(at, bufferMaxBytes)).toBe(1n);
      expect(at.made).toEqual([{ socket, isFreed: false }]);
    }
  });

  it('property: one that has received packets of others is made anew, in the end with an ordinary socket', async () => {
    const twice = library({ receivedBefore: [8, 2] });
    expect(await make(twice, 212_992)).toBe(3n);
    expect(twice.made).toEqual([
      { socket: 'any', isFreed: true },
      { socket: 'any', isFreed: true },
      { socket: 'any', isFreed: false },
    ]);
    const always = library({ receivedBefore: [8, 2, 28, 24] });
    expect(await make(always, 212_992)).toBe(4n);
    expect(always.made.map(({ socket, isFreed }) => `${socket} ${isFreed}`)).toEqual([
      'any true',
      'any true',
      'any true',
      'ordinary false',
    ]);
  });

  it('degenerate: a camera that is not on the network has one kind of stream', async () => {
    const usb = library({ receivedBefore: [8], isGigE: false });
    expect(await make(usb, 0)).toBe(1n);
    expect(usb.made.length).toBe(1);
  });
});
