import { readFile } from 'node:fs/promises';
import { setTimeout as wait } from 'node:timers/promises';
import type { Pointer } from '../aravis/index.js';
import type { AravisCalls } from './calls.js';
import type { DeviceLink } from './device-link.js';

/** Socket buffer that is asked for: it held bursts of frames of 1400 to 16000-byte packets without a loss (docs/measurements.md). */
const socketBytes = 16 * 1024 * 1024;
/** Making a stream takes several registers, and a camera its time. */
const makingMs = 5000;
/** After so long without a packet the missing ones of a frame are asked for. */
const packetWaitUs = 20_000;
/** Packets of a frame that may be asked for again, as a part of all: none is given up because many are missing. */
const askedAgainRatio = 1;
/** Options of the library's streams. */
const anySocket = 0;
const ordinarySocket = 1;
/** A packet socket hands over what it has taken in after so long. */
const foreignSeenMs = 30;
const mostTries = 4;
/** Linux gives a socket twice of what it says. */
const bufferRatio = 2;

/**
 * Makes the stream by which frames come, before the acquisition begins.
 *
 * Model    an ordinary socket wherever the system lets it hold a frame. Where it does not, the library may use a packet socket,
 *          if this process has the right to: that one takes in whatever passes the machine between its opening and its filter.
 *          Packets of another camera among that pass for the first of this stream, and then all frames with lower numbers are
 *          thrown away as late. So a stream that has received anything before its camera sends is made anew.
 * Input    `bufferMaxBytes`: the most that the system lets a socket hold
 * Throws   what the link throws.
 * Checked  property: tests/drivers/make-stream.test.ts, and among foreign packets tests/wire/foreign-packets.test.ts
 */
export async function makeStream(
  calls: AravisCalls,
  camera: Pointer,
  link: DeviceLink,
  { payloadBytes, bufferMaxBytes }: { payloadBytes: number; bufferMaxBytes: number },
): Promise<Pointer> {
  const isGigE = calls.camera.isGigE(camera) === 1;
  if (!isGigE) return made(calls, camera, link);
  const device = calls.camera.device(camera)!;
  const isRoomy = bufferRatio * bufferMaxBytes >= payloadBytes;
  for (let tries = 1; ; tries++) {
    const isOrdinary = isRoomy || tries === mostTries;
    calls.camera.setStreamOptions(device, isOrdinary ? ordinarySocket : anySocket);
    const stream = await made(calls, camera, link);
    const { setInteger, setDouble, counter } = calls.stream;
    setInteger(stream, 'socket-buffer', 'int', 0, 'void *', null);
    setInteger(stream, 'socket-buffer-size', 'int', socketBytes, 'void *', null);
    setInteger(stream, 'packet-timeout', 'uint', packetWaitUs, 'void *', null);
    setDouble(stream, 'packet-request-ratio', 'double', askedAgainRatio, 'void *', null);
    if (isOrdinary) return stream;
    await wait(foreignSeenMs);
    if (Number(counter(stream, 'n_received_packets')) === 0) return stream;
    await calls.unref.later(stream);
  }
}

async function made(calls: AravisCalls, camera: Pointer, link: DeviceLink): Promise<Pointer> {
  const make = () => calls.camera.createStream.later(camera, null, null);
  const stream = await link.run('stream', make, { limitMs: makingMs });
  if (stream === null) throw link.lose();
  return stream;
}

/** The most that the system lets a socket hold. Linux alone has packet sockets; elsewhere the ordinary one is all there is. */
export async function receiveBufferMaxBytes(): Promise<number> {
  const text = await readFile('/proc/sys/net/core/rmem_max', 'utf8').catch(() => '');
  return Number(text) || Number.POSITIVE_INFINITY;
}
