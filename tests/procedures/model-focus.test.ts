import { describe, expect, it } from 'vitest';
import type { GreyImage } from '../../src/image/index.js';
import { halfWidthBlurRadiusPx } from '../../src/procedures/autofocus/model/focus-optics.js';
import { type FocusOptics, type FocusStep, modelFocus } from '../../src/procedures/index.js';
import { type DefocusedSceneOptions, defocusedScene, framePx } from './defocused-scene.js';

const limits = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };
const scale = 8;
const known: FocusOptics = { cutoffPerPx: 1.2, blurRadiusPerDptPx: 1.02 * scale, blurRadiusLogStd: 0.03 };
const halfWidthDpt = halfWidthBlurRadiusPx(1.2) / scale;

/** Lets the method look at whatever it asks for. */
function search({
  see,
  optics = known,
  startDpt = -2,
  region = { xPx: 0, yPx: 0, widthPx: framePx, heightPx: framePx },
}: {
  see: (commandedDpt: number) => GreyImage;
  optics?: FocusOptics | null;
  startDpt?: number;
  region?: { xPx: number; yPx: number; widthPx: number; heightPx: number };
}) {
  const focus = modelFocus({ optics }).start({
    region,
    limits,
    startDpt,
    expected: null,
    hysteresisDpt: 0,
    isResponseKnown: false,
    moveMs: () => 35,
  });
  const commandsDpt: number[] = [];
  let step: FocusStep = focus.begin();
  while (step.kind === 'look') {
    const commandedDpt = step.focalPowerDpt;
    commandsDpt.push(commandedDpt);
    const exposedAtMs = 35 * commandsDpt.length;
    const frameId = commandsDpt.length;
    const seen = {
      commandedDpt,
      powersDpt: [commandedDpt],
      cameFrom: 'below' as const,
      moves: { movesDpt: [], startPart: null },
      frameId,
      exposedAtMs,
    };
    step = focus.next({ image: see(commandedDpt), ...seen });
  }
  return { step, commandsDpt, focus };
}

const seeing = (options: Partial<DefocusedSceneOptions> = {}) =>
  defocusedScene({ bestFocusDpt: 1.1, blurRadiusPerDptPx: scale, ...options }).see;

describe('focus from the model', () => {
  it('recovery: near and far from the start, in few frames, within half the half-width', () => {
    for (const [seed, bestFocusDpt] of [-1.7, -0.4, 0.9, 2.6].entries()) {
      const { step, commandsDpt } = search({ see: seeing({ seed: seed + 1, bestFocusDpt }) });
      expect(step.kind, `best focus at ${bestFocusDpt}`).toBe('found');
      if (step.kind !== 'found') continue;
      expect(Math.abs(step.focalPowerDpt - bestFocusDpt)).toBeLessThan(halfWidthDpt / 2);
      expect(step.probabilityInFocus).toBeGreaterThanOrEqual(0.95);
      expect(commandsDpt.length).toBeLessThanOrEqual(5);
      const offsDpt = commandsDpt.map((dpt) => Math.abs(dpt - step.focalPowerDpt));
      expect(Math.min(...offsDpt), 'a frame confirms').toBeLessThan(halfWidthDpt / 2);
    }
  });

  it('recovery: without any knowledge of the optics', () => {
    for (const bestFocusDpt of [-0.8, 2.1]) {
      const { step, commandsDpt } = search({ see: seeing({ bestFocusDpt, seed: 5 }), optics: null, startDpt: 0.5 });
      expect(step.kind, `best focus at ${bestFocusDpt}`).toBe('found');
      if (step.kind === 'found') expect(Math.abs(step.focalPowerDpt - bestFocusDpt)).toBeLessThan(halfWidthDpt / 2);
      expect(commandsDpt.length).toBeLessThanOrEqual(6);
    }
  });

  it('recovery: in little light, and of a scene that moves by pixels between frames', () => {
    for (const options of [{ meanDn: 60, noiseDn: 5 }, { motionPx: 3 }]) {
      const { step } = search({ see: seeing({ ...options, seed: 8 }) });
      expect(step).toMatchObject({ kind: 'found' });
      if (step.kind === 'found') expect(Math.abs(step.focalPowerDpt - 1.1)).toBeLessThan(halfWidthDpt / 2);
    }
  });

  it('property: the confirming frame is about as sharp as predicted, and the posterior has an area of 1', () => {
    const { step, focus } = search({ see: seeing({ seed: 3 }) });
    if (step.kind !== 'found' || !step.confirmation) return expect.unreachable();
    const { measured, predicted } = step.confirmation;
    expect(measured / predicted).toBeGreaterThan(0.6);
    expect(measured / predicted).toBeLessThan(1.7);
    const { focalPowersDpt, densitiesPerDpt } = focus.posterior!;
    const area = densitiesPerDpt.reduce((sum, d) => sum + d, 0) * (focalPowersDpt[1]! - focalPowersDpt[0]!);
    expect(area).toBeCloseTo(1, 2);
  });

  it('property: no power outside the limits is asked for; the same frames give the same answer', () => {
    const runs = [0, 1].map(() => search({ see: seeing({ seed: 4, bestFocusDpt: 2.9 }) }));
    for (const dpt of runs[0]!.commandsDpt) {
      expect(dpt).toBeGreaterThanOrEqual(limits.powerMinDpt);
      expect(dpt).toBeLessThanOrEqual(limits.powerMaxDpt);
    }
    expect(runs[1]!.step).toEqual(runs[0]!.step);
  });

  it.each([
    ['no-texture', { contrast: 0 }],
    ['saturated', { meanDn: 4090, contrast: 0.5 }],
    ['too-dark', { meanDn: 0, noiseDn: 0.2, fixedPatternDn: 0 }],
    ['out-of-range', { bestFocusDpt: 4.2 }],
    ['two-planes', { bestFocusDpt: [-0.5, 1.2] as const }],
    ['two-planes', { bestFocusDpt: [1.9, 1.3] as const }],
    ['device', { powerAt: () => 0.2 }],
  ] as const)('refuses: %s', (reason, options) => {
    const { step } = search({ see: seeing({ seed: 2, ...options }) });
    expect(step).toMatchObject({ kind: 'refused', reason });
  });

  it('refuses pictures that repeat, and regions that are too small', () => {
    const image = seeing()(0);
    expect(search({ see: () => image }).step).toMatchObject({ kind: 'refused', reason: 'device' });
    const region = { xPx: 0, yPx: 0, widthPx: 40, heightPx: 100 };
    expect(() => search({ see: seeing(), region })).toThrow('region.widthPx');
  });
});
