import { describe, expect, it } from 'vitest';
import { keepBlur, orAnew, rememberingFocus } from '../../../src/procedures/autofocus/blur-memory.js';
import type { FocusSearch, FocusStep, FocusView } from '../../../src/procedures/index.js';
import type { FocusProbe, KeptBlur } from '../../../src/station/index.js';
import { defocusedScene, framePx } from '../defocused-scene.js';

const limits = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };
const truePxPerDpt = 8;
const kept = (blurRadiusPerDptPx: number, more: Partial<KeptBlur> = {}): KeptBlur => ({
  cutoffPerPx: 1.1,
  blurRadiusPerDptPx,
  blurRadiusLogStd: 0.12,
  runCount: 1,
  ...more,
});

/** Lets the method look at a scene until it ends. */
function search({ before, bestFocusDpt, seed }: { before: KeptBlur | null; bestFocusDpt: number; seed: number }) {
  const { see } = defocusedScene({ bestFocusDpt, seed, blurRadiusPerDptPx: truePxPerDpt, cutoffPerPx: 1.2 });
  const { method, memory } = rememberingFocus(before);
  const focus = method.start({
    region: { xPx: 0, yPx: 0, widthPx: framePx, heightPx: framePx },
    limits,
    startDpt: 0.5,
    expected: null,
    hysteresisDpt: 0,
    isResponseKnown: false,
    moveMs: () => 35,
  });
  let frames = 0;
  let step: FocusStep = focus.begin();
  while (step.kind === 'look') {
    const commandedDpt = step.focalPowerDpt;
    const seen = {
      commandedDpt,
      powersDpt: [commandedDpt],
      cameFrom: 'below' as const,
      moves: { movesDpt: [], startPart: null },
      frameId: ++frames,
      exposedAtMs: 35 * frames,
    };
    step = focus.next({ image: see(commandedDpt), ...seen });
  }
  return { step, frames, focus, memory };
}

describe('blur scale from run to run', () => {
  it('recovery: what is learned over six scenes lies within its uncertainty of the true scale', () => {
    let before: KeptBlur | null = null;
    for (const [i, bestFocusDpt] of [-1.2, -0.3, 0.4, 1.1, 1.8, 2.4].entries()) {
      const { step, memory, focus } = search({ before, bestFocusDpt, seed: i + 1 });
      if (step.kind === 'found')
        expect(focus.learnedBlur === null || focus.learnedBlur!.blurRadiusLogStd > 0.1).toBe(true);
      before = memory.kept;
    }
    expect(before!.runCount).toBeGreaterThanOrEqual(4);
    expect(before!.blurRadiusLogStd).toBe(0.1);
    expect(Math.abs(Math.log(before!.blurRadiusPerDptPx / truePxPerDpt))).toBeLessThan(2 * before!.blurRadiusLogStd);
  });

  it('property: a right scale costs no more frames than none; a scale that is far off is forgotten', () => {
    const none = search({ before: null, bestFocusDpt: 1.8, seed: 5 });
    const right = search({ before: kept(truePxPerDpt), bestFocusDpt: 1.8, seed: 5 });
    const wrong = search({ before: kept(60), bestFocusDpt: 1.8, seed: 5 });
    expect([none, right, wrong].map(({ step }) => step.kind)).toEqual(['found', 'found', 'found']);
    expect(right.frames).toBeLessThanOrEqual(none.frames);
    expect(right.memory).toMatchObject({ isForgotten: false, kept: { runCount: 2 } });
    expect(wrong.memory).toMatchObject({ isForgotten: true, kept: { runCount: 1 } });
    expect(wrong.memory.kept!.blurRadiusPerDptPx).toBeLessThan(12);
  });

  it('property: after a refusal that a wrong scale can cause the search begins anew, once; all frames stay in the record', () => {
    const look = (focalPowerDpt: number): FocusStep => ({
      kind: 'look',
      focalPowerDpt,
      role: 'probe',
      approachFrom: null,
    });
    const refusal = (reason: 'out-of-range' | 'no-texture'): FocusStep => ({
      kind: 'refused',
      reason,
      message: reason,
    });
    const scripted = (steps: FocusStep[], at: number): FocusSearch => {
      const probes: FocusProbe[] = [];
      const take = () => steps.shift()!;
      return {
        begin: take,
        next() {
          probes.push({
            role: 'probe',
            focalPowerDpt: at,
            travelDpt: 0,
            measure: 1,
            measureStd: null,
            meanGreyDn: 9,
            exposedAtMs: 0,
          });
          return take();
        },
        probes,
        posterior: null,
      };
    };
    const view = {} as FocusView;
    const anew = orAnew(scripted([look(1), look(2), refusal('out-of-range')], 1), () =>
      scripted([look(3), refusal('out-of-range')], 3),
    );
    expect([anew.begin(), anew.next(view), anew.next(view)]).toEqual([look(1), look(2), look(3)]);
    expect(anew.next(view)).toEqual(refusal('out-of-range'));
    expect(anew.probes.map(({ focalPowerDpt }) => focalPowerDpt)).toEqual([1, 1, 3]);
    const other = orAnew(scripted([look(1), refusal('no-texture')], 1), () => scripted([look(3)], 3));
    other.begin();
    expect(other.next(view)).toEqual(refusal('no-texture'));
  });

  it('closed form: two runs alike weigh alike and leave 1/√2 of the width, but never less than 10 %', () => {
    const wide = { blurRadiusLogStd: 0.2 };
    const { kept: both, isContradicted } = keepBlur(kept(8, wide), kept(9, wide));
    expect(isContradicted).toBe(false);
    expect(both.blurRadiusPerDptPx).toBeCloseTo(Math.sqrt(72), 12);
    expect(both.blurRadiusLogStd).toBeCloseTo(0.2 / Math.SQRT2, 12);
    expect(keepBlur(both, kept(8, { blurRadiusLogStd: 0.05 })).kept).toMatchObject({
      blurRadiusLogStd: 0.1,
      runCount: 3,
    });
  });

  it('closed form: beyond three standard deviations, or with another cutoff, the new run takes the place of the old', () => {
    const far = 8 * Math.exp(3.01 * Math.hypot(0.12, 0.12));
    const near = 8 * Math.exp(2.99 * Math.hypot(0.12, 0.12));
    expect(keepBlur(kept(8, { runCount: 5 }), kept(far))).toMatchObject({
      isContradicted: true,
      kept: { runCount: 1 },
    });
    expect(keepBlur(kept(8, { runCount: 5 }), kept(near))).toMatchObject({
      isContradicted: false,
      kept: { runCount: 6 },
    });
    expect(keepBlur(kept(8), kept(8, { cutoffPerPx: 0.9 })).isContradicted).toBe(true);
  });
});
