import { describe, expect, it } from 'vitest';
import { deviceLink } from '../../src/drivers/genicam/device-link.js';
import type { RawFrame } from '../../src/drivers/genicam/frame-stream.js';
import { frameTaker } from '../../src/drivers/genicam/frame-taker.js';
import type { Session } from '../../src/drivers/genicam/session.js';
import { virtualClock } from '../../src/twin/index.js';

const exposureMs = 4;
const mono8 = 0x01080001;

/** A camera of a few lines on a virtual clock: `answerTo` says what a trigger brings, and after how long. */
function camera({
  answerTo,
  isThere = () => true,
}: {
  answerTo: (trigger: number) => { isGood: boolean; afterMs: number } | null;
  isThere?: () => boolean;
}) {
  const clock = virtualClock();
  const triggersMs: number[] = [];
  const coming: { dueMs: number; frame: RawFrame }[] = [];
  const asked: number[] = [];
  const session = {
    link: deviceLink('test'),
    lens: null,
    isController: () => true,
    async answersWithin(limitMs: number) {
      asked.push(clock.nowMs());
      if (isThere()) return true;
      await clock.sleep(limitMs);
      return false;
    },
    exposure: { read: async () => exposureMs },
    acquisition: {
      hasSoftwareTrigger: true,
      setTrigger: async () => {},
      frameRateHz: async () => ({ now: 100, max: 100 }),
    },
    features: {
      async execute() {
        triggersMs.push(clock.nowMs());
        const answer = answerTo(triggersMs.length);
        if (!answer) return;
        const { isGood, afterMs } = answer;
        const dueMs = clock.nowMs() + exposureMs + afterMs;
        const frame = {
          isGood,
          bytes: new Uint8Array(4),
          formatCode: mono8,
          widthPx: 2,
          heightPx: 2,
          frameNumber: triggersMs.length,
          deviceTimeMs: 0,
          systemTimeMs: performance.timeOrigin + performance.now() + 1e7,
        };
        coming.push({ dueMs, frame });
      },
    },
    startStream: async () => ({
      pop: () => (coming[0] && coming[0].dueMs <= clock.nowMs() ? coming.shift()!.frame : null),
      drain: () => {},
      packets: () => ({ missingCount: 7, askedAgainCount: 5 }),
      close: async () => {},
    }),
  };
  const frames = frameTaker(session as unknown as Session, { id: 'test', clock });
  return { clock, frames, triggersMs, asked };
}

describe('one frame from a camera that has its troubles, on a virtual clock', () => {
  it('closed form: a camera that is gone is noticed within a second', async () => {
    const { clock, frames } = camera({ answerTo: () => null, isThere: () => false });
    await expect(frames.grab()).rejects.toMatchObject({ code: 'camera-link-lost' });
    expect(clock.nowMs()).toBeLessThanOrEqual(1000);
    expect(clock.nowMs()).toBeGreaterThan(500);
  });

  it('property: torn frames are taken again, at least six times and for five seconds, then told with their packets', async () => {
    const { clock, frames, triggersMs } = camera({ answerTo: () => ({ isGood: false, afterMs: 10 }) });
    await expect(frames.grab()).rejects.toMatchObject({
      code: 'frame-lost',
      message: expect.stringMatching(/\d+ frames in 5\.\d s came with missing packets; missingCount: 7/),
      remedy: expect.stringContaining('focuswright check'),
    });
    expect(triggersMs.length).toBeGreaterThanOrEqual(6);
    expect(clock.nowMs()).toBeGreaterThanOrEqual(5000);
    expect(clock.nowMs()).toBeLessThan(6000);
  });

  it('property: slow torn frames are taken again six times, however long that takes', async () => {
    const { frames, triggersMs } = camera({ answerTo: () => ({ isGood: false, afterMs: 2000 }) });
    await expect(frames.grab()).rejects.toMatchObject({ code: 'frame-lost' });
    expect(triggersMs).toHaveLength(6);
  });

  it('property: the first whole frame counts, with the time of its own trigger', async () => {
    const { frames, triggersMs } = camera({ answerTo: (trigger) => ({ isGood: trigger === 4, afterMs: 10 }) });
    const frame = await frames.grab();
    expect(triggersMs).toHaveLength(4);
    expect(frame.exposedAtMs).toBe(triggersMs[3]! + exposureMs / 2);
  });

  it('property: a trigger that brings nothing is given once more; after five seconds the stream is begun anew, once', async () => {
    const silentOnce = camera({ answerTo: (trigger) => (trigger === 1 ? null : { isGood: true, afterMs: 10 }) });
    await silentOnce.frames.grab();
    expect(silentOnce.triggersMs).toHaveLength(2);
    expect(silentOnce.clock.nowMs()).toBeLessThan(3000);
    const silent = camera({ answerTo: () => null });
    await expect(silent.frames.grab()).rejects.toMatchObject({ code: 'frame-lost' });
    expect(silent.triggersMs).toHaveLength(4);
    expect(silent.asked.length).toBeGreaterThan(5);
    expect(silent.clock.nowMs()).toBeGreaterThan(10_000);
    expect(silent.clock.nowMs()).toBeLessThan(12_000);
    const awakeAnew = camera({ answerTo: (trigger) => (trigger <= 2 ? null : { isGood: true, afterMs: 10 }) });
    await awakeAnew.frames.grab();
    expect(awakeAnew.triggersMs).toHaveLength(3);
  });
});
