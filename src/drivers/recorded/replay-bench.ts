import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type Clock, FocuswrightError, neverCancelled, throwIfCancelled } from '../../base/index.js';
import type { Bench, FocusCamera, Frame, RecordedAnswer, RecordedCall, Recording } from '../../devices/index.js';
import { decodeImage } from '../../image/index.js';

/** Name of the recording in a handover folder. */
export const recordingFile = 'recording.json';

/**
 * A recorded run as a bench: every call is answered as it was then, so that the same procedure comes to the same result.
 *
 * Model    calls are answered in their order; time is the recorded one. Lost frames and other trouble happen again.
 * Throws   `recording-unreadable` for a folder without a recording; later `recording-departed` where the run asks for something
 *          else than was recorded, as another station or another version may.
 */
export async function openReplayBench(folder: string): Promise<Bench> {
  const recording = await readRecording(folder);
  const id = recording.camera;
  let next = 0;
  let nowMs = recording.startedAtMs;
  let isClosed = false;
  const clock: Clock = {
    nowMs: () => nowMs,
    async sleep(durationMs) {
      nowMs += Math.max(0, durationMs);
    },
  };

  function answerTo(call: string, asked: unknown): RecordedAnswer {
    if (isClosed) throw new FocuswrightError('camera-closed', { camera: id });
    const found: RecordedCall | undefined = recording.calls[next];
    const isSame = found?.call === call && JSON.stringify(found.asked) === JSON.stringify(asked);
    if (!isSame) {
      throw new FocuswrightError('recording-departed', {
        call: next + 1,
        recorded: found ? `${found.call} ${JSON.stringify(found.asked)}` : 'the end',
        asked: `${call} ${JSON.stringify(asked)}`,
      });
    }
    next++;
    nowMs = Math.max(nowMs, found.answeredAtMs);
    if ('error' in found.answer) throw new FocuswrightError(found.answer.error.code, found.answer.error.details);
    return found.answer;
  }
  async function value<T>(call: string, asked: unknown = {}): Promise<T> {
    const answer = answerTo(call, asked);
    return ('value' in answer ? answer.value : null) as T;
  }
  async function frame(call: string): Promise<Frame> {
    const answer = answerTo(call, {});
    if (!('frame' in answer)) throw new FocuswrightError('recording-departed', { call: next, recorded: 'no frame' });
    const { widthPx, heightPx, bitDepth, ...seen } = answer.frame;
    if (answer.file !== null) {
      const bytes = await readFile(join(folder, answer.file)).catch((cause: unknown) => {
        throw new FocuswrightError('image-unreadable', { file: answer.file }, { cause });
      });
      return { ...seen, image: decodeImage(bytes, answer.file), fileName: answer.file };
    }
    // The run let this frame go without looking at it: nobody kept its pixels.
    const count = widthPx * heightPx;
    const data = bitDepth === 8 ? new Uint8Array(count) : new Uint16Array(count);
    return { ...seen, image: { widthPx, heightPx, bitDepth, data } };
  }

  const camera: FocusCamera = {
    id,
    simulated: recording.simulated,
    clock,
    identify: () => value('identify'),
    capabilities: () => value('capabilities'),
    setFocalPower: (asked) => value('setFocalPower', asked),
    setFocalCurrent: (asked) => value('setFocalCurrent', asked),
    setExposure: (asked) => value('setExposure', asked),
    configure: (asked) => value('configure', asked),
    lensStatus: () => value('lensStatus'),
    async grab({ signal = neverCancelled } = {}) {
      throwIfCancelled(signal, 'grabbing a frame');
      return frame('grab');
    },
    async *stream({ count, signal = neverCancelled } = {}) {
      const isStream = () => recording.calls[next]?.call === 'stream';
      for (let given = 0; given !== count && isStream() && !signal.aborted; given++) yield await frame('stream');
    },
    async park() {
      /* a recording has no lens to bring to rest */
    },
    async close() {
      isClosed = true;
    },
  };
  return {
    camera,
    stage: {
      distancesMm: recording.distancesMm,
      placeTarget: ({ workingDistanceMm }) => value('placeTarget', { workingDistanceMm }),
    },
  };
}

async function readRecording(folder: string): Promise<Recording> {
  const file = join(folder, recordingFile);
  try {
    const read = JSON.parse(await readFile(file, 'utf8')) as Recording;
    if (read.kind === 'recording' && read.format === 1 && Array.isArray(read.calls)) return read;
    throw new Error('not a recording of this format');
  } catch (cause) {
    throw new FocuswrightError('recording-unreadable', { file }, { cause });
  }
}
