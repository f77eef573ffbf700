import { describe, expect, it } from 'vitest';
import { parabolaPeakStd } from '../../src/image/index.js';
import { focusInformationPerDpt2, sceneRings } from '../../src/planning/autofocus/focus-information.js';
import { probedRings } from '../../src/planning/autofocus/probed-rings.js';
import { planStation } from '../../src/planning/index.js';
import { layoutModelOf, type Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const names = ['glaze-line', 'vial-stopper', 'relay-pins'];
const searchOf = (station: Station, name: 'three-probes' | 'sweep') =>
  plan(station).autofocus!.searches.find((search) => search.name === name)!;

describe('predictAutofocus', () => {
  it('reference: the three-point parabola’s peak (derived; Monte Carlo 0.01777), F = 90, 100, 90, noise 0.5 → 0.017678', () => {
    const samples = [-1, 0, 1].map((position, i) => ({ position, value: [90, 100, 90][i]! })) as never;
    expect(parabolaPeakStd({ samples, valueStd: 0.5 })).toBeCloseTo(0.017678, 6);
  });

  it.each(names)('property: %s: no three-point peak of spectral energy beats the bound', (name) => {
    const station = demoStation(name);
    const { planes, autofocus } = plan(station);
    const plane = planes.find((p) => p.name === autofocus!.plane)!;
    const rings = sceneRings({
      regionPx: 256,
      contrastToNoiseRatio: autofocus!.contrastToNoiseRatio,
      spectrumExponent: 2,
    });
    const half = plane.depthOfField.taskContrast!.nearHalfWidthDpt;
    for (const spacing of [0.5, 1, 2]) {
      const probesDpt = [-1, 0, 1].map((i) => plane.neededPowerDpt! + i * spacing * half);
      const seen = probedRings({
        station,
        model: layoutModelOf(station),
        rings,
        workingDistanceMm: plane.workingDistanceMm,
        probesDpt,
      });
      const boundDpt = 1 / Math.sqrt(focusInformationPerDpt2(seen));
      // Energy of a band: mean Σ 2n·(g·h² + 1); by noise alone, the scene given, variance Σ 4n·(2·g·h² + 1)/2.
      for (const band of [seen, seen.slice(4), seen.slice(6)]) {
        const sumOver = (term: (ring: (typeof band)[number]) => number) =>
          band.reduce((sum, ring) => sum + 2 * ring.coefficientCount * term(ring), 0);
        const value = (i: number) => sumOver((r) => r.sceneToNoiseRatio * r.transfer[i]! ** 2 + 1);
        const slope = (i: number) =>
          sumOver((r) => 2 * r.sceneToNoiseRatio * r.transfer[i]! * r.transferSlopePerDpt[i]!);
        const variance = (i: number) => sumOver((r) => 2 * (2 * r.sceneToNoiseRatio * r.transfer[i]! ** 2 + 1));
        const samples = [0, 1, 2].map((i) => ({ position: probesDpt[i]!, value: value(i) })) as never;
        const valueStd = Math.sqrt((variance(0) + variance(2)) / 2);
        // The curve is no parabola: its peak moves by less, or more, than best focus does.
        const curvature = value(0) - 2 * value(1) + value(2);
        const following = (spacing * half * (slope(0) - slope(2))) / (2 * curvature);
        expect(following).toBeGreaterThan(0.05);
        expect(parabolaPeakStd({ samples, valueStd }) / following).toBeGreaterThan(0.999 * boundDpt);
      }
    }
  });

  it.each(names)('property: %s: the bound said holds for best focus anywhere among the probes', (name) => {
    const station = demoStation(name);
    const { planes, autofocus } = plan(station);
    const plane = planes.find((p) => p.name === autofocus!.plane)!;
    const rings = sceneRings({
      regionPx: 256,
      contrastToNoiseRatio: autofocus!.contrastToNoiseRatio,
      spectrumExponent: 2,
    });
    for (const { probesDpt, boundStdDpt } of autofocus!.searches) {
      const reachDpt = (probesDpt.at(-1)! - probesDpt[0]!) / 2;
      for (const share of [-0.9, -0.5, 0, 0.3, 0.7]) {
        const seen = probedRings({
          station,
          model: layoutModelOf(station),
          rings,
          workingDistanceMm: plane.workingDistanceMm,
          probesDpt: probesDpt.map((dpt) => dpt + share * reachDpt),
        });
        expect(1 / Math.sqrt(focusInformationPerDpt2(seen))).toBeLessThan(1.02 * boundStdDpt);
      }
    }
  });

  it.each(names)('property: %s: less light, less texture or a smoother scene widen the spread', (name) => {
    const station = demoStation(name);
    const bound = (s: Station) => searchOf(s, 'three-probes').boundStdDpt;
    const exposureMs = station.controls.exposureMs / 4;
    expect(bound(changed(station, { controls: { exposureMs } }))).toBeGreaterThan(bound(station));
    expect(bound(changed(station, { task: { texture: { rmsContrast: 0.02 } } }))).toBeGreaterThan(4 * bound(station));
    expect(bound(changed(station, { task: { texture: { spectrumExponent: 4 } } }))).toBeGreaterThan(bound(station));
  });

  it('closed form: in bright light without quantisation the bound falls as 1 / contrast', () => {
    const at = (rmsContrast: number) =>
      searchOf(changed(demoStation('glaze-line'), { task: { texture: { rmsContrast } } }), 'three-probes').boundStdDpt;
    expect(at(0.2) / at(0.4)).toBeCloseTo(2, 1);
  });

  it('closed form: probability inside from the half-width and the final spread', () => {
    const rough = changed(demoStation('glaze-line'), { parts: { tunableLens: { repeatabilityDpt: 0.2 } } });
    const { autofocus, planes, budget } = plan(rough);
    const { allowedHalfWidthDpt } = budget[planes.findIndex((p) => p.name === autofocus!.plane)]!;
    const { finalStdDpt, insideProbability, boundStdDpt } = autofocus!.searches[0]!;
    expect(finalStdDpt).toBeCloseTo(Math.hypot(boundStdDpt, 0.2, 0.005 / Math.sqrt(12)), 12);
    // trapezoids over the normal density
    const steps = 20_000;
    const width = (2 * allowedHalfWidthDpt) / steps;
    let sum = 0;
    for (let i = 0; i < steps; i++) {
      const x = (-allowedHalfWidthDpt + (i + 0.5) * width) / finalStdDpt;
      sum += (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * (width / finalStdDpt);
    }
    expect(insideProbability).toBeCloseTo(sum, 6);
  });

  it('degenerate: without light, or without a plane in focus', () => {
    const dark = changed(demoStation('glaze-line'), { parts: { light: { sensorIrradianceUwPerCm2: 1e-6 } } });
    const { autofocus, ledger } = plan(dark);
    expect(autofocus!.searches[0]!.boundStdDpt).toBe(5);
    expect(ledger.find(({ key }) => key === 'autofocus.spread')).toMatchObject({
      verdict: 'fails',
      remedy: expect.stringMatching(/more light/),
    });
    const blind = plan(changed(demoStation('glaze-line'), { task: { contrastNeeded: 0.95 } }));
    expect(blind.autofocus).toBeNull();
  });

  it('closed form: time of three probes and a confirming frame with a lens that needs no settling', () => {
    const quick = changed(demoStation('glaze-line'), {
      parts: {
        tunableLens: { naturalFrequencyHz: 20_000, dampingRatio: 0.7, deadTimeMs: 0 },
        sensor: { frameRateHz: 100 },
      },
    });
    // a frame every 10 ms: exposure 0.6 and readout 8 ms
    expect(searchOf(quick, 'three-probes').timeMs).toBeCloseTo(40, 6);
    expect(searchOf(quick, 'sweep').timeMs).toBeCloseTo(100, 6);
  });
});
