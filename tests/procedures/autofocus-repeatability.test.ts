import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { lensNoise } from '../../src/procedures/autofocus/lens-noise.js';
import { type FocusStep, type FocusWindow, planAutofocus } from '../../src/procedures/autofocus/plan.js';
import { runAutofocus } from '../../src/procedures/autofocus/run.js';
import { planSweep } from '../../src/procedures/sweep/plan.js';
import type { SeenPoint } from '../../src/procedures/sweep/run.js';
import { readStation } from '../../src/station/index.js';
import { createSimulatedBench } from '../../src/twin/index.js';
import { fakeRun } from './fake-bench.js';

const halfWidthDpt = 0.1;
const width = 0.1;
const peakDpt = 0.37;
const available = { powerMinDpt: -2, powerMaxDpt: 3, powersDpt: null };
const bell = (powerDpt: number) => 1 + 10 * Math.exp(-(((powerDpt - peakDpt) / width) ** 2) / 2);

const seen = (focalPowerDpt: number, measure: number): SeenPoint => ({
  focalPowerDpt,
  measure,
  measureStd: 0.02,
  meanGreyDn: 120,
  temperatureDegC: 25,
  frame: '',
  noiseFloorMeasure: 0.1,
  saturatedFraction: 0,
  blackDn: 0,
  fullScaleDn: 255,
});

/** Autofocus on a Gaussian curve: by a lens that scatters by `lensDpt`, of a scene that scatters by `sceneShare`. */
function search(options: { seed: number; lensDpt: number; sceneShare: number; statedDpt: number }): FocusStep {
  const random = seededRandom(options.seed);
  const points: SeenPoint[] = [];
  const windows: FocusWindow[] = [];
  for (;;) {
    const step = planAutofocus({
      points,
      windows,
      available,
      halfWidthDpt,
      repeatabilityDpt: options.statedDpt,
      expected: null,
    });
    if (step.kind !== 'sweep') return step;
    windows.push(step.window);
    const { powersDpt } = planSweep({ ...step.window, overshootDpt: 0, approachFrom: 'below', available });
    for (const power of powersDpt) {
      const measure = bell(power + options.lensDpt * random.normal()) + 10 * options.sceneShare * random.normal();
      if (!points.some((p) => Math.abs(p.focalPowerDpt - power) < 1e-9)) points.push(seen(power, measure));
    }
  }
}

const many = (options: Omit<Parameters<typeof search>[0], 'seed'>) =>
  Array.from({ length: 60 }, (_, seed) => search({ seed, ...options }));
const kinds = (steps: readonly FocusStep[]) => steps.map((step) => (step.kind === 'refused' ? step.reason : step.kind));

describe('scatter that the lens makes', () => {
  it('closed form: on the flank the slope times the repeatability, at the peak the second order', () => {
    const powers = Array.from({ length: 9 }, (_, i) => peakDpt + 0.04 * (i - 4));
    const noise = lensNoise(
      powers.map((p) => seen(p, bell(p))),
      { repeatabilityDpt: 0.01, halfWidthDpt },
    );
    // height 10, width 0.1: at the peak √3/2 · 10 · (0.01/0.1)²; at 0.08 dpt slope 10 · 0.8/0.1 · exp(−0.32)
    expect(noise[4]).toBeCloseTo((Math.sqrt(3) / 2) * 0.1, 3);
    expect(noise[6]! / (0.01 * 80 * Math.exp(-0.32))).toBeCloseTo(1, 2);
    expect(noise[2]).toBeCloseTo(noise[6]!, 6);
  });

  it('recovery: a fifth of the depth of field loses no distance, and the stated σ holds (above 85 of 100 within 2 σ)', () => {
    const steps = many({ lensDpt: 0.02, sceneShare: 0, statedDpt: 0.02 });
    expect(kinds(steps)).toEqual(steps.map(() => 'found'));
    // Unknown to the plan, the same scatter is taken for the scene's.
    expect(kinds(many({ lensDpt: 0.02, sceneShare: 0, statedDpt: 0.0002 }))).toContain('unstable-scene');
    const within = steps.filter(
      (step) => step.kind === 'found' && Math.abs(step.focalPowerDpt - peakDpt) < 2 * step.fitStdDpt,
    );
    expect(within.length).toBeGreaterThan(0.85 * steps.length);
  });

  it('refuses a scene that scatters, with a lens that does not: unstable-scene', () => {
    const refused = kinds(many({ lensDpt: 0, sceneShare: 0.25, statedDpt: 0.002 }));
    expect(refused).not.toContain('lens-repeatability');
    expect(refused.filter((kind) => kind === 'unstable-scene').length).toBeGreaterThan(5);
  });

  it('refuses a lens coarser than the depth of field by its name: lens-repeatability', () => {
    const steps = many({ lensDpt: 0.08, sceneShare: 0, statedDpt: 0.08 });
    const refused = steps.flatMap((step) => (step.kind === 'refused' ? [step] : []));
    const named = refused.filter(({ reason }) => reason === 'lens-repeatability');
    expect(named.length).toBeGreaterThan(0);
    expect(refused.map(({ reason }) => reason)).not.toContain('unstable-scene');
    expect(named[0]).toMatchObject({
      message: expect.stringContaining('comes back to a power to ± 0.080 dpt, the half-width of the depth of field is'),
      remedy: expect.stringContaining('repeatability'),
    });
  });

  it('recovery: the simulated relay-pins station, hidden errors of seed 7, loses no distance', async () => {
    const text = readFileSync(new URL('../../stations/relay-pins.yaml', import.meta.url), 'utf8');
    const station = readStation(text, { fileName: 'relay-pins.yaml' });
    station.parts.sensor.widthPx = 480;
    station.parts.sensor.heightPx = 384;
    const { nearMm, farMm } = station.task;
    const bench = createSimulatedBench({ station, seed: 7 });
    const { run } = await fakeRun(bench, station);
    for (let i = 0; i < 5; i++) {
      const workingDistanceMm = await bench.stage.placeTarget({
        workingDistanceMm: nearMm + (i / 4) * (farMm - nearMm),
      });
      const record = await runAutofocus(run, { workingDistanceMm, expected: null });
      expect(record, record.kind === 'refused' ? record.message : '').toMatchObject({ kind: 'found' });
    }
  });
});
