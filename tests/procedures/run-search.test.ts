import { describe, expect, it } from 'vitest';
import { wrapCamera } from '../../src/devices/index.js';
import { focusRemedies } from '../../src/procedures/autofocus/focus-remedies.js';
import { type FocusStep, runFocusSearch } from '../../src/procedures/index.js';
import { type FakeBenchOptions, fakeBench } from './fake-bench.js';
import { glazeStation } from './glaze-station.js';

const station = glazeStation();
const look = (focalPowerDpt: number, approachFrom: 'below' | null = null): FocusStep => ({
  kind: 'look',
  focalPowerDpt,
  role: 'probe',
  approachFrom,
});
const found: FocusStep = {
  kind: 'found',
  focalPowerDpt: 1,
  focalPowerStdDpt: 0.01,
  halfWidthDpt: 0.1,
  probabilityInFocus: 0.9,
  confirmation: null,
};

/** Runs a search that takes these steps whatever it sees. */
async function runSteps(steps: FocusStep[], options: Partial<FakeBenchOptions> & { park?: boolean } = {}) {
  const bench = fakeBench({ station, ...options });
  await bench.stage.placeTarget({ workingDistanceMm: 420 });
  const left = [...steps];
  const run = runFocusSearch({
    camera: bench.camera,
    method: {
      name: 'model',
      start: () => ({ begin: () => left.shift()!, next: () => left.shift()!, probes: [], posterior: null }),
    },
    region: { xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 },
    response: { settlingMs: () => 20, hysteresisDpt: 0.05 },
    ...(options.park === undefined ? {} : { park: options.park }),
  });
  return { bench, run };
}

/** A camera whose clock loses 12 ms at every command. */
function lateCamera() {
  const { camera } = fakeBench({ station });
  const sleeps: number[] = [];
  const bench = wrapCamera(
    { ...camera, clock: { ...camera.clock, sleep: async (ms) => (sleeps.push(ms), camera.clock.sleep(ms)) } },
    {
      async setFocalPower(command) {
        await camera.clock.sleep(12);
        return camera.setFocalPower(command);
      },
    },
  );
  return { bench, sleeps };
}

describe('focus search on a camera', () => {
  it('property: the lens stays at the found power, or is parked where that was asked', async () => {
    for (const park of [false, true]) {
      const { bench, run } = await runSteps([look(2), look(0.5), found], { park });
      const result = await run;
      expect(result).toMatchObject({ kind: 'found', focalPowerDpt: 1, frames: 2, approachedFrom: 'below' });
      expect(bench.commandsDpt.slice(0, 3)).toEqual([2, 0.5, 1]);
      expect(bench.parks).toBe(park ? 1 : 0);
      expect(result.elapsedMs).toBeGreaterThanOrEqual(60);
    }
  });

  it('property: a power that must be reached from below is overshot first', async () => {
    const { bench, run } = await runSteps([look(2), look(1, 'below'), found]);
    expect(await run).toMatchObject({ approachedFrom: 'below', frames: 2 });
    expect(bench.commandsDpt).toEqual([2, 0.9, 1]);
  });

  it('refuses: the lens is parked, and the remedy is the standing one', async () => {
    const { bench, run } = await runSteps([look(2), { kind: 'refused', reason: 'no-texture', message: 'Nothing.' }]);
    expect(await run).toMatchObject({ kind: 'refused', remedy: focusRemedies['no-texture'], frames: 1 });
    expect(bench.parks).toBe(1);
  });

  it.each([
    ['that stays where it is', { stuckAtDpt: -1.4 }, (dpt: number) => dpt],
    ['that answers in the wrong direction', {}, (dpt: number) => -dpt],
  ] as const)('refuses: a lens %s; it is told to park', async (_, options, readBack) => {
    const bench = fakeBench({ station, ...options });
    const camera = wrapCamera(bench.camera, {
      async grab(asked) {
        const frame = await bench.camera.grab(asked);
        return { ...frame, focalPowerDpt: readBack(frame.focalPowerDpt) };
      },
    });
    const result = await runFocusSearch({
      camera,
      method: {
        name: 'model',
        start: () => ({ begin: () => look(1), next: () => found, probes: [], posterior: null }),
      },
      region: { xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 },
      response: { settlingMs: () => 20, hysteresisDpt: 0 },
    });
    expect(result).toMatchObject({ kind: 'refused', reason: 'device', message: expect.stringContaining('commanded') });
    expect(bench.parks).toBe(1);
  });

  it('property: a second step that comes late is waited for to its end, and its frame counts as taken at rest', async () => {
    const { bench, sleeps } = lateCamera();
    const seen: (readonly number[])[] = [];
    await runFocusSearch({
      camera: bench,
      method: {
        name: 'model',
        start: () => ({
          begin: () => ({ kind: 'look', focalPowerDpt: 1.5, role: 'probe', approachFrom: null, toleranceDpt: 0.5 }),
          next(view) {
            seen.push(view.powersDpt);
            return { kind: 'refused', reason: 'no-texture', message: '' };
          },
          probes: [],
          posterior: null,
        }),
      },
      region: { xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 },
      response: {
        hysteresisDpt: 0,
        settlingMs: ({ toleranceDpt }) => (toleranceDpt === undefined ? 77 : 5),
        shaped: () => ({ firstDpt: 0.8, gapMs: 10, settlingMs: 12 }),
        powersDpt: () => [9, 9],
      },
    });
    expect(sleeps).toContain(77);
    expect(seen).toEqual([[1.5]]);
  });

  it('refuses a region outside the frame before the lens moves', async () => {
    const bench = fakeBench({ station });
    const method = { name: 'model' as const, start: () => expect.unreachable() };
    const response = { settlingMs: () => 20, hysteresisDpt: 0 };
    const region = { xPx: 0, yPx: 0, widthPx: 4000, heightPx: 64 };
    await expect(runFocusSearch({ camera: bench.camera, method, region, response })).rejects.toThrow(RangeError);
    expect(bench.commandsDpt).toEqual([]);
  });

  it('refuses: an error on the way parks the lens', async () => {
    const broken = () => {
      throw new Error('broken');
    };
    const { bench, run } = await runSteps([look(2), found], { beforeGrab: broken });
    await expect(run).rejects.toThrow('broken');
    expect(bench.parks).toBe(1);
  });
});
