import { describe, expect, it } from 'vitest';
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
