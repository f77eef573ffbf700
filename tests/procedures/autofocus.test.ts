import { describe, expect, it } from 'vitest';
import { bracketedRoot } from '../../src/optics/bracketed-root.js';
import { runAutofocus } from '../../src/procedures/autofocus/run.js';
import { focusHalfWidthDpt } from '../../src/procedures/focus-half-width.js';
import { predictedMagnification, predictedMtf, taskFrequencyPerPx } from '../../src/station/index.js';
import { type FakeBenchOptions, fakeBench, fakeRun } from './fake-bench.js';
import { glazeStation } from './glaze-station.js';

const station = glazeStation();

async function focusOn(
  options: Partial<FakeBenchOptions>,
  { workingDistanceMm = 420, expectedDpt = null as number | null, signal = { aborted: false } } = {},
) {
  const bench = fakeBench({ station, ...options });
  await bench.stage.placeTarget({ workingDistanceMm });
  const { run, events, kept } = await fakeRun(bench, station, signal);
  const expected = expectedDpt === null ? null : { focalPowerDpt: expectedDpt, mostOffDpt: 0.3 };
  const record = await runAutofocus(run, { workingDistanceMm, expected });
  return { bench, run, events, kept, record, truthDpt: bench.trueCommandDpt(workingDistanceMm) };
}

describe('depth-of-field half-width', () => {
  // W20 of a fixed target, δ off focus: a·δ / (1 + b·δ), by the vergence of the tunable lens carried to the stop. So 1/δ at the same
  // |W20| on either side differs by ± b, and the half-width is the harmonic mean of the two.
  it('closed form: the harmonic mean of the powers off focus, either way, where the exact contrast is the threshold', () => {
    const { contrastNeeded } = station.task;
    for (const workingDistanceMm of [345, 420, 540]) {
      const half = focusHalfWidthDpt({ station, workingDistanceMm });
      const magnification = predictedMagnification({ station, workingDistanceMm })!;
      const frequenciesPerPx = [taskFrequencyPerPx({ station, magnification })];
      const bestDpt = fakeBench({ station }).trueCommandDpt(workingDistanceMm);
      const contrastAt = (offDpt: number) =>
        predictedMtf({
          station,
          workingDistanceMm,
          focalPowerDpt: bestDpt + offDpt,
          frequenciesPerPx,
          moving: false,
        })![0]!;
      expect(contrastAt(0)).toBeGreaterThan(contrastNeeded);
      const [below, above] = ([-1, 1] as const).map((side) =>
        bracketedRoot({
          of: (dpt) => contrastAt(side * dpt) - contrastNeeded,
          low: 0,
          high: 2 * half,
          tolerance: 1e-12,
        }),
      );
      expect(below).not.toBeCloseTo(above!, 4);
      expect(2 / (1 / below! + 1 / above!) / half).toBeCloseTo(1, 8);
    }
  });
});

describe('autofocus', () => {
  it('recovery: finds best focus over the whole range, within 3 σ of the truth', async () => {
    for (const workingDistanceMm of [345, 420, 540]) {
      const { record, truthDpt, kept } = await focusOn(
        { build: { powerOffsetDpt: 0.07, powerGain: 1.02 } },
        { workingDistanceMm },
      );
      if (record.kind !== 'found') throw new Error(record.message);
      expect(Math.abs(record.focalPowerDpt - truthDpt)).toBeLessThan(3 * record.focalPowerStdDpt);
      expect(record.focalPowerStdDpt).toBeLessThan(0.3 * focusHalfWidthDpt({ station, workingDistanceMm }));
      expect(kept).toHaveLength(record.frames);
      expect(record.sweep.points.map((p) => p.focalPowerDpt)).toEqual(
        record.sweep.points.map((p) => p.focalPowerDpt).sort((a, b) => a - b),
      );
    }
  });

  it('recovery: a right expectation saves frames, a wrong one decides nothing', async () => {
    const whole = await focusOn({});
    const right = await focusOn({}, { expectedDpt: whole.truthDpt + 0.1 });
    const wrong = await focusOn({}, { expectedDpt: -1.6 });
    expect(right.record.frames).toBeLessThan(0.7 * whole.record.frames);
    for (const { record, truthDpt } of [right, wrong]) {
      if (record.kind !== 'found') throw new Error(record.message);
      expect(Math.abs(record.focalPowerDpt - truthDpt)).toBeLessThan(3 * record.focalPowerStdDpt);
    }
  });

  it('property: each sweep rises, after a command below its first power (hysteresis the same each time)', async () => {
    const { bench } = await focusOn({});
    const turns = bench.commandsDpt.filter((p, i) => i > 0 && p < bench.commandsDpt[i - 1]!);
    expect(turns.length).toBeLessThanOrEqual(2);
  });

  it('recovery: works without a temperature reading', async () => {
    const { record } = await focusOn({ temperatureDegC: null });
    expect(record).toMatchObject({ kind: 'found', temperatureDegC: null });
  });

  it.each([
    ['flat', 'no-texture'],
    ['black', 'too-dark'],
    ['white', 'saturated'],
    ['two-planes', 'multiple-peaks'],
  ] as const)('refuses a %s scene: %s', async (scene, reason) => {
    const { record, events } = await focusOn({ scene });
    expect(record).toMatchObject({ kind: 'refused', reason });
    if (record.kind === 'refused') expect(record.remedy.length).toBeGreaterThan(20);
    expect(events.at(-1)?.type).toBe('focus-refused');
    expect(record.sweep.points.length).toBeGreaterThan(0);
  });

  it('refuses best focus beyond the range of the lens: out-of-range', async () => {
    const { record } = await focusOn({ build: { powerOffsetDpt: 3 } });
    expect(record).toMatchObject({ kind: 'refused', reason: 'out-of-range' });
    const other = await focusOn({ build: { powerOffsetDpt: -3 } }, { expectedDpt: 0.5 });
    expect(other.record).toMatchObject({ kind: 'refused', reason: 'out-of-range' });
  });

  it('refuses a stuck lens that claims to follow: no-response', async () => {
    const { record } = await focusOn({ stuckAtDpt: 0.5, liesWhenStuck: true });
    expect(record).toMatchObject({ kind: 'refused', reason: 'no-response' });
  });

  it('refuses a stuck lens that reports its power: lens-not-moving, and nothing is kept as used', async () => {
    await expect(focusOn({ stuckAtDpt: 0.5 })).rejects.toMatchObject({ code: 'lens-not-moving' });
  });

  it('recovery: a lost frame is grabbed again; a link that stays lost is an error', async () => {
    const { FocuswrightError } = await import('../../src/base/index.js');
    let lost = 0;
    const once = (count: number) => {
      if (count === 5 && lost++ === 0) throw new FocuswrightError('frame-lost');
    };
    const { record } = await focusOn({ beforeGrab: once });
    expect(record.kind).toBe('found');
    expect(lost).toBeGreaterThan(0);
    const gone = () => {
      throw new FocuswrightError('camera-link-lost');
    };
    await expect(focusOn({ beforeGrab: gone })).rejects.toMatchObject({ code: 'camera-link-lost' });
  });

  it('recovery: a cancel in the middle of a sweep keeps the points seen', async () => {
    const signal = { aborted: false };
    const bench = fakeBench({
      station,
      beforeGrab: (count) => {
        if (count === 6) signal.aborted = true;
      },
    });
    await bench.stage.placeTarget({ workingDistanceMm: 420 });
    const { run } = await fakeRun(bench, station, signal);
    await expect(runAutofocus(run, { workingDistanceMm: 420, expected: null })).rejects.toMatchObject({
      code: 'cancelled',
    });
    expect(run.journal.autofocus).toMatchObject([{ kind: 'refused', reason: 'interrupted', frames: 7 }]);
    expect(run.journal.frames).toHaveLength(7);
  });
});
