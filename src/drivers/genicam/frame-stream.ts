import type { Pointer } from '../aravis/index.js';
import type { AravisCalls } from './calls.js';
import type { DeviceLink } from './device-link.js';
import { framePatience } from './frame-patience.js';
import { makeStream, receiveBufferMaxBytes } from './make-stream.js';

/** A frame as it came, whole or not. */
export interface RawFrame {
  /** false: packets are missing; such a frame never counts. */
  isGood: boolean;
  bytes: Uint8Array;
  formatCode: number;
  widthPx: number;
  heightPx: number;
  frameNumber: number;
  /** Time stamp of the camera, in its own time; 0 where it sends none. */
  deviceTimeMs: number;
  /** When its first packet came, by this machine's wall clock. */
  systemTimeMs: number;
}

/** Frames of a running acquisition. */
export interface FrameStream {
  /** The next frame that has come, or null. Never waits. The pixels are copied. */
  pop(): RawFrame | null;
  /** Lets go of all frames that have come. */
  drain(): void;
  /** Packets so far that never came, and those asked for again; zeros where the transport tells of none. */
  packets(): { missingCount: number; askedAgainCount: number };
  /** Stops the acquisition and frees the buffers. */
  close(): Promise<void>;
}

/** Buffers together take about so much memory, within a few and many of them. */
const memoryBytes = 64e6;
const fewestBuffers = 4;
const mostBuffers = 32;
/** Starting or stopping a stream takes several registers, and a camera its time. */
const startMs = 5000;

/** Starts an acquisition. Throws what the link throws. */
export async function startFrameStream(calls: AravisCalls, camera: Pointer, link: DeviceLink): Promise<FrameStream> {
  const { koffi, stream: streaming, buffer } = calls;
  const views = new Map<Pointer, Uint8Array>();
  const payload = await link.run('PayloadSize', () => calls.camera.payload.later(camera));
  const bufferMaxBytes = await receiveBufferMaxBytes();
  const stream = await makeStream(calls, camera, link, { payloadBytes: payload, bufferMaxBytes });
  const isGigE = calls.camera.isGigE(camera) === 1;
  const patience = framePatience();
  const applyPatience = () => {
    if (isGigE) streaming.setInteger(stream, 'frame-retention', 'uint', 1000 * patience.waitMs, 'void *', null);
  };
  applyPatience();
  const count = Math.max(fewestBuffers, Math.min(mostBuffers, Math.floor(memoryBytes / payload)));
  for (let i = 0; i < count; i++) {
    const made = buffer.allocate(payload, null, null, null);
    const size: (number | bigint)[] = [0];
    const data = buffer.data(made, size);
    views.set(made, new Uint8Array(koffi.view(data, payload)));
    streaming.push(stream, made);
  }
  let isOpen = true;
  const close = async () => {
    if (!isOpen) return;
    isOpen = false;
    await link.run('AcquisitionStop', () => calls.camera.stop.later(camera), { limitMs: startMs }).catch(() => {});
    // A call that nobody waits for any more may still be using the stream.
    await link.ended();
    views.clear();
    await calls.unref.later(stream);
  };
  try {
    await link.run('AcquisitionStart', () => calls.camera.start.later(camera), { limitMs: startMs });
  } catch (error) {
    await close();
    throw error;
  }
  const take = <T>(read: (from: Pointer) => T): T | null => {
    const got = isOpen ? streaming.tryPop(stream) : null;
    if (got === null) return null;
    try {
      return read(got);
    } finally {
      streaming.push(stream, got);
    }
  };
  return {
    pop: () =>
      take((got) => {
        const isGood = buffer.status(got) === 0;
        if (patience.note({ isWhole: isGood })) applyPatience();
        return {
          isGood,
          bytes: isGood ? views.get(got)!.slice() : new Uint8Array(),
          formatCode: isGood ? buffer.pixelFormat(got) : 0,
          widthPx: isGood ? buffer.widthPx(got) : 0,
          heightPx: isGood ? buffer.heightPx(got) : 0,
          frameNumber: Number(buffer.frameNumber(got)),
          deviceTimeMs: Number(buffer.deviceTimeNs(got)) / 1e6,
          systemTimeMs: Number(buffer.systemTimeNs(got)) / 1e6,
        };
      }),
    drain() {
      while (take(() => true)) {
        // Each is pushed back as it comes.
      }
    },
    packets: () => ({
      missingCount: isOpen && isGigE ? Number(streaming.counter(stream, 'n_missing_packets')) : 0,
      askedAgainCount: isOpen && isGigE ? Number(streaming.counter(stream, 'n_resend_requests')) : 0,
    }),
    close,
  };
}
