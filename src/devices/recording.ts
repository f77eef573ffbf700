import { type ErrorCode, type ErrorDetails, FocuswrightError } from '../base/index.js';
import type { Bench } from './contract.js';
import type { EvidenceSink } from './evidence-sink.js';
import type { Frame } from './frame.js';
import { wrapCamera } from './wrap-camera.js';

/** What a recorded call was answered with: a value, a frame without its pixels, or an error. */
export type RecordedAnswer =
  | { value: unknown }
  | { frame: Omit<Frame, 'image'> & { widthPx: number; heightPx: number; bitDepth: number }; file: string | null }
  | { error: { code: ErrorCode; details: ErrorDetails } };

/** One call to the bench, in its order. */
export interface RecordedCall {
  call: string;
  /** What it was asked with. */
  asked: unknown;
  /** When it was answered, on the camera's clock. */
  answeredAtMs: number;
  answer: RecordedAnswer;
}

/** All calls of a run to its bench, in order: with the frames it is enough to run the same procedure again to the same result. */
export interface Recording {
  kind: 'recording';
  format: 1;
  camera: string;
  simulated: boolean;
  distancesMm: readonly number[] | null;
  startedAtMs: number;
  calls: RecordedCall[];
}

/**
 * Records what a run asks of its bench and what it is told.
 *
 * Returns  bench and evidence to hand to the run, and the recording, which grows.
 * Trust    a frame that the run let go without keeping it as evidence is recorded without its pixels.
 */
export function recordRun<E extends EvidenceSink>({
  bench,
  evidence,
}: {
  bench: Bench;
  evidence: E;
}): {
  bench: Bench;
  evidence: E;
  recording: Recording;
} {
  const { camera, stage } = bench;
  const calls: RecordedCall[] = [];
  const entries = new WeakMap<Frame, RecordedCall>();

  async function noting<T>(
    call: string,
    asked: unknown,
    work: () => Promise<T>,
    toAnswer: (value: T) => RecordedAnswer,
  ) {
    const note = (answer: RecordedAnswer) => {
      const entry = { call, asked, answeredAtMs: camera.clock.nowMs(), answer };
      calls.push(entry);
      return entry;
    };
    try {
      const value = await work();
      return { value, entry: note(toAnswer(value)) };
    } catch (error) {
      if (error instanceof FocuswrightError) note({ error: { code: error.code, details: error.details } });
      throw error;
    }
  }
  const plain = async <T>(call: string, asked: unknown, work: () => Promise<T>): Promise<T> =>
    (await noting(call, asked, work, (value) => ({ value }))).value;
  const keepEntry = (frame: Frame, entry: RecordedCall) => {
    entries.set(frame, entry);
    return frame;
  };
  const withoutPixels = ({ image, ...frame }: Frame): RecordedAnswer => {
    const { widthPx, heightPx, bitDepth } = image;
    return { frame: { ...frame, widthPx, heightPx, bitDepth }, file: null };
  };

  return {
    recording: {
      kind: 'recording',
      format: 1,
      camera: camera.id,
      simulated: camera.simulated,
      distancesMm: stage.distancesMm,
      startedAtMs: camera.clock.nowMs(),
      calls,
    },
    bench: {
      camera: wrapCamera(camera, {
        identify: () => plain('identify', {}, () => camera.identify()),
        capabilities: () => plain('capabilities', {}, () => camera.capabilities()),
        setFocalPower: (asked) => plain('setFocalPower', asked, () => camera.setFocalPower(asked)),
        setFocalCurrent: (asked) => plain('setFocalCurrent', asked, () => camera.setFocalCurrent(asked)),
        setExposure: (asked) => plain('setExposure', asked, () => camera.setExposure(asked)),
        configure: (asked) => plain('configure', asked, () => camera.configure(asked)),
        lensStatus: () => plain('lensStatus', {}, () => camera.lensStatus()),
        async grab(options) {
          const { value, entry } = await noting('grab', {}, () => camera.grab(options), withoutPixels);
          return keepEntry(value, entry);
        },
        async *stream(options) {
          for await (const frame of camera.stream(options)) {
            const { entry } = await noting('stream', {}, async () => frame, withoutPixels);
            yield keepEntry(frame, entry);
          }
        },
      }),
      stage: {
        distancesMm: stage.distancesMm,
        placeTarget: ({ workingDistanceMm, signal }) =>
          plain('placeTarget', { workingDistanceMm }, () => stage.placeTarget({ workingDistanceMm, signal })),
      },
    },
    evidence: {
      ...evidence,
      async keepFrame(frame: Frame, label: string) {
        const kept = await evidence.keepFrame(frame, label);
        const entry = entries.get(frame);
        if (entry && 'frame' in entry.answer) entry.answer.file = kept.file;
        return kept;
      },
    },
  };
}
