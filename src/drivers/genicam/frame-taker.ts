import { type CancelSignal, type Clock, counted, FocuswrightError, throwIfCancelled } from '../../base/index.js';
import type { CameraSettings, Frame } from '../../devices/index.js';
import { deviceTime } from './device-time.js';
import type { FrameStream, RawFrame } from './frame-stream.js';
import { greyImageOf } from './pixel-formats.js';
import type { Session } from './session.js';
import { onSystemClock } from './system-clock.js';

/** Takes frames from one connection: one after the other, or as they come. */
export interface FrameTaker {
  /** Notes the exposure that is set, and returns it. */
  keepExposure(exposureMs: number): number;
  configure(wanted: Partial<CameraSettings>): Promise<CameraSettings>;
  grab(signal?: CancelSignal): Promise<Frame>;
  stream(options: { count?: number; signal?: CancelSignal }): AsyncGenerator<Frame>;
  close(): Promise<void>;
}

const pollMs = 1;
/** What a frame may take beyond its exposure before the camera is asked whether it is still there. */
const graceMs = 300;
/** What it may take before it counts as lost, while the camera answers; halfway it is triggered once more. */
const lostAfterMs = 5000;
/** How long a silent camera may take to answer a question before the link counts as lost: one packet may be lost on the way. */
const answerMs = 550;
/** One grab gives up after so many frames with missing packets, and not before so long while the camera answers. */
const mostTorn = 6;
const leastTryingMs = 5000;
/** Rest after a frame with missing packets, times how many there were, so that the machine can catch up. */
const restMs = 20;
const longestRestMs = 200;
/** In a stream, power and temperature are read anew after so long. */
const readingMs = 20;

/** Takes frames over one connection. Grabbing and configuring wait for one another. */
export function frameTaker(session: Session, { id, clock }: { id: string; clock: Clock }): FrameTaker {
  const { acquisition, lens, link } = session;
  let running: { stream: FrameStream; isFree: boolean } | null = null;
  let trigger: CameraSettings['trigger'] = acquisition.hasSoftwareTrigger ? 'software' : 'free';
  let exposureMs: number | null = null;
  let periodMs = 0;
  let time = deviceTime();
  let numberOffset = 0;
  let lastNumber = 0;
  let lastId = 0;
  let turn: Promise<unknown> = Promise.resolve();
  let reading = { focalPowerDpt: 0, temperatureDegC: null as number | null };

  function inTurn<T>(work: () => Promise<T>): Promise<T> {
    const next = turn.then(work);
    turn = next.catch(() => {});
    return next;
  }

  async function halt(): Promise<void> {
    const { stream } = running ?? {};
    running = null;
    await stream?.close();
  }

  /** The running stream, triggered as it is set, or free. */
  async function started(isFree: boolean): Promise<FrameStream> {
    if (running && running.isFree !== isFree) await halt();
    if (!running) {
      await acquisition.setTrigger(isFree ? 'free' : trigger);
      exposureMs ??= await session.exposure.read();
      const { now: rateHz } = await acquisition.frameRateHz();
      periodMs = rateHz && rateHz > 0 ? 1000 / rateHz : 0;
      time = deviceTime();
      lastNumber = 0;
      numberOffset = lastId;
      running = { stream: await session.startStream(), isFree };
    }
    return running.stream;
  }

  /** Frame numbers of the wire have 16 bits and begin anew with each stream; ours go on. */
  function nextId(wireNumber: number): number {
    if (wireNumber <= lastNumber) numberOffset = lastId - wireNumber + 1;
    lastNumber = wireNumber;
    lastId = Math.max(lastId + 1, numberOffset + wireNumber);
    return lastId;
  }

  function frameOf(raw: RawFrame, exposedAtMs: number): Frame {
    const arrivedAtMs = clock.nowMs();
    const { bytes, formatCode, widthPx, heightPx } = raw;
    return {
      image: greyImageOf({ bytes, formatCode, widthPx, heightPx, camera: id }),
      frameId: nextId(raw.frameNumber),
      ...reading,
      exposureMs,
      exposedAtMs: Math.min(exposedAtMs, arrivedAtMs),
      arrivedAtMs,
      source: id,
      fileName: null,
    };
  }

  const readLens = async () => {
    if (lens) reading = await lens.reading();
  };
  // The clock that frames are stamped by; it may be set while the process runs. Whole milliseconds, rounded down.
  const wallMs = () => Date.now();

  const isThere = async () => session.isController() && (await session.answersWithin(answerMs));
  async function lostFrame(why: string, packets = {}): Promise<FocuswrightError> {
    if (!(await isThere())) return link.lose();
    return new FocuswrightError('frame-lost', { camera: id, why, ...packets });
  }

  /** Whether the last grab ended because nothing came at all. */
  let isSilent = false;

  /** A stream that gives nothing though the camera answers is begun anew, once. */
  async function grabOrBeginAnew(signal?: CancelSignal): Promise<Frame> {
    isSilent = false;
    try {
      return await grab(signal);
    } catch (error) {
      const isWorthIt = isSilent && error instanceof FocuswrightError && error.code === 'frame-lost';
      if (!isWorthIt || trigger !== 'software') throw error;
      await halt();
      return grab(signal);
    }
  }

  async function grab(signal?: CancelSignal): Promise<Frame> {
    const isFree = trigger === 'free';
    const stream = await started(isFree);
    stream.drain();
    await readLens();
    const calledMs = wallMs();
    const bySoftware = trigger === 'software';
    const exposure = exposureMs ?? 0;
    // In a free run a frame must have begun after the call: its exposure and one more frame that may wait in the camera.
    const earliestMs = bySoftware ? calledMs : calledMs + exposure + periodMs;
    const beganMs = clock.nowMs();
    let torn = 0;
    for (; torn < mostTorn || clock.nowMs() - beganMs < leastTryingMs; torn++) {
      if (torn > 0) await clock.sleep(Math.min(longestRestMs, restMs * torn));
      const triggeredMs = clock.nowMs();
      if (bySoftware) await session.features.execute('TriggerSoftware');
      const dueMs = clock.nowMs() + exposure + (isFree ? 3 * periodMs : 0);
      let askMs = dueMs + graceMs;
      let isTriggeredAgain = !bySoftware;
      for (;;) {
        if (signal) throwIfCancelled(signal, 'grabbing a frame');
        const raw = stream.pop();
        if (raw === null) {
          if (clock.nowMs() > dueMs + lostAfterMs) {
            isSilent = true;
            throw await lostFrame('nothing came in time');
          }
          if (clock.nowMs() > askMs) {
            if (!(await isThere())) throw link.lose();
            askMs = clock.nowMs() + graceMs;
          }
          if (!isTriggeredAgain && clock.nowMs() > dueMs + lostAfterMs / 2) {
            isTriggeredAgain = true;
            await session.features.execute('TriggerSoftware');
          }
          await clock.sleep(pollMs);
          continue;
        }
        if (!raw.isGood) break;
        const promptMs = time.promptArrivalMs(raw);
        if (promptMs < earliestMs) continue;
        const isTwice = bySoftware && isTriggeredAgain;
        // The other frame of two triggers must not pass for that of the next grab.
        if (isTwice) await halt();
        const isTimed = bySoftware && !isTwice;
        return frameOf(raw, isTimed ? triggeredMs + exposure / 2 : onSystemClock(promptMs) - exposure / 2);
      }
    }
    const seconds = ((clock.nowMs() - beganMs) / 1000).toFixed(1);
    throw await lostFrame(`${counted(torn, 'frame')} in ${seconds} s came with missing packets`, stream.packets());
  }

  return {
    keepExposure(set) {
      exposureMs = set;
      return set;
    },
    configure: (wanted) =>
      inTurn(async () => {
        const inUse = { ...(await acquisition.read()), trigger };
        const changed = Object.entries(wanted).some(
          ([name, value]) => JSON.stringify(value) !== JSON.stringify(inUse[name as keyof CameraSettings]),
        );
        if (changed) {
          await halt();
          await acquisition.write(wanted, inUse);
          trigger = wanted.trigger ?? trigger;
        }
        return { ...(await acquisition.read()), trigger };
      }),
    grab: (signal) => inTurn(() => grabOrBeginAnew(signal)),
    async *stream({ count, signal }) {
      let given = 0;
      let readAtMs = Number.NEGATIVE_INFINITY;
      let heardAtMs = clock.nowMs();
      const isFree = trigger === 'free' || trigger === 'software';
      while (given !== count && !signal?.aborted) {
        const raw = await inTurn(async () => {
          const stream = await started(isFree);
          if (clock.nowMs() - readAtMs > readingMs) {
            await readLens();
            readAtMs = clock.nowMs();
          }
          return stream.pop();
        });
        if (raw?.isGood) {
          heardAtMs = clock.nowMs();
          const promptMs = time.promptArrivalMs(raw);
          yield frameOf(raw, onSystemClock(promptMs) - (exposureMs ?? 0) / 2);
          given++;
          continue;
        }
        if (raw) continue;
        const silentMs = clock.nowMs() - heardAtMs;
        if (isFree && silentMs > graceMs + (exposureMs ?? 0) + 3 * periodMs) {
          const error = await lostFrame('nothing came in time');
          if (error.code === 'camera-link-lost') throw error;
          heardAtMs = clock.nowMs();
        }
        await clock.sleep(pollMs);
      }
    },
    close: () => inTurn(halt),
  };
}
