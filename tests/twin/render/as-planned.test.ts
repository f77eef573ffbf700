import { describe, expect, it } from 'vitest';
import { focalPowerAt, systemMtf, traceSystem } from '../../../src/optics/index.js';
import { layoutModelOf, type Station, sharpnessStagesOf } from '../../../src/station/index.js';
import { createSimulatedBench, noBuildErrors, type Scene } from '../../../src/twin/index.js';
import { paintPolygon } from '../../../src/twin/scenes/paint-polygon.js';
import { smallStation } from '../small-station.js';

const angle = (5 * Math.PI) / 180;

/** A straight edge, 5° from the image's columns or rows. */
const edge = (orientation: 'vertical' | 'horizontal'): Scene => ({
  name: 'edge',
  paint(canvas) {
    canvas.reflectance.fill(0.85);
    const far = 600;
    const turn = orientation === 'vertical' ? 0 : Math.PI / 2;
    const along = { xMm: -Math.sin(angle + turn), yMm: Math.cos(angle + turn) };
    const across = { xMm: Math.cos(angle + turn), yMm: Math.sin(angle + turn) };
    const corner = (a: number, b: number) => ({
      xMm: a * along.xMm + b * across.xMm,
      yMm: a * along.yMm + b * across.yMm,
    });
    paintPolygon(canvas, [corner(-far, 0), corner(-far, far), corner(far, far), corner(far, 0)], 0.1);
  },
});

const workingDistanceMm = 430;
const frequenciesPerPx = [0.05, 0.1, 0.2, 0.3, 0.4];

/** MTF of an edge in a frame of the bench: Fourier sum over steps between pixels sorted by their distance from it. */
async function renderedMtf(station: Station, orientation: 'vertical' | 'horizontal', speedMmPerS = 0) {
  const quiet = { ...noBuildErrors() };
  const bench = createSimulatedBench({ station, buildErrors: quiet, scene: edge(orientation) });
  bench.world.workingDistanceMm = workingDistanceMm;
  bench.world.speedMmPerS = speedMmPerS;
  const model = layoutModelOf(station);
  const focus = focalPowerAt({ model, workingDistanceMm });
  if (focus.kind === 'none') throw new Error(focus.reason);
  await bench.camera.setFocalPower({ focalPowerDpt: focus.focalPowerDpt });
  await bench.camera.clock.sleep(30_000);
  const { image } = await bench.camera.grab();
  const { widthPx, heightPx, data } = image;
  const turn = orientation === 'vertical' ? 0 : Math.PI / 2;
  const bins = new Map<number, { sum: number; count: number }>();
  for (let row = 50; row < heightPx - 50; row++) {
    for (let column = 50; column < widthPx - 50; column++) {
      const x = column - (widthPx - 1) / 2;
      const y = row - (heightPx - 1) / 2;
      const bin = Math.round(8 * (x * Math.cos(angle + turn) + y * Math.sin(angle + turn)));
      if (Math.abs(bin) > 8 * 32) continue;
      const kept = bins.get(bin) ?? { sum: 0, count: 0 };
      bins.set(bin, { sum: kept.sum + data[row * widthPx + column]!, count: kept.count + 1 });
    }
  }
  const profile = [...bins]
    .sort(([a], [b]) => a - b)
    .map(([bin, { sum, count }]) => ({ u: bin / 8, value: sum / count }));
  const step = profile.at(-1)!.value - profile[0]!.value;
  return frequenciesPerPx.map((frequencyPerPx) => {
    let real = 0;
    let imaginary = 0;
    for (let i = 1; i < profile.length; i++) {
      const [a, b] = [profile[i - 1]!, profile[i]!];
      const phase = Math.PI * frequencyPerPx * (a.u + b.u);
      real += (b.value - a.value) * Math.cos(phase);
      imaginary -= (b.value - a.value) * Math.sin(phase);
    }
    return Math.hypot(real, imaginary) / Math.abs(step);
  });
}

/** The planner's MTF in focus, with the stages that the plan takes. */
function plannedMtf(station: Station, moving: boolean) {
  const model = layoutModelOf(station);
  const focus = focalPowerAt({ model, workingDistanceMm });
  if (focus.kind === 'none') throw new Error(focus.reason);
  const { focalPowerDpt } = focus;
  const { magnification, workingFNumber } = traceSystem({ model, focalPowerDpt });
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt, magnification, moving });
  const pitchMm = station.parts.sensor.pixelPitchUm / 1000;
  return frequenciesPerPx.map((frequencyPerPx) =>
    systemMtf({ ...stages, spatialFrequencyPerMm: frequencyPerPx / pitchMm, workingFNumber, defocusWaves: 0 }),
  );
}

/** The small station without wavefront error (the simulated one shows it as spherical aberration) and with little noise. */
function stationWith(change: {
  fixedLens?: Partial<Station['parts']['fixedLens']>;
  tunableLens?: Partial<Station['parts']['tunableLens']>;
  layout?: Partial<Station['layout']>;
  task?: Partial<Station['task']>;
}): Station {
  const { parts } = smallStation;
  return {
    ...smallStation,
    task: { ...smallStation.task, ...change.task },
    layout: { ...smallStation.layout, ...change.layout },
    controls: { ...smallStation.controls, exposureMs: 5 },
    rehearsal: { ...smallStation.rehearsal, ambientDegC: 25, warmUpDegC: 0 },
    parts: {
      ...parts,
      sensor: { ...parts.sensor, fullWellE: 1e6, gainDnPerE: 0.003, readNoiseE: 1, bitDepth: 12, nonUniformity: 0 },
      fixedLens: { ...parts.fixedLens, wavefrontErrorRmsWaves: 0, ...change.fixedLens },
      tunableLens: { ...parts.tunableLens, wavefrontErrorRmsWaves: 0, controlStepDpt: 1e-4, ...change.tunableLens },
      light: { ...parts.light, sensorIrradianceUwPerCm2: 400 },
    },
  };
}

describe('the simulated station shows what the plan predicts', () => {
  const cases: [string, Station][] = [
    ['neither colour nor coma', stationWith({})],
    ['axial colour of the fixed lens', stationWith({ fixedLens: { axialColourUm: 60 } })],
    [
      'dispersion of the tunable lens',
      stationWith({ tunableLens: { abbeNumber: 12 }, layout: { ringDistanceMm: 1200 } }),
    ],
  ];
  it.each(cases)('reference: MTF of a rendered edge with %s', async (_name, station) => {
    const rendered = await renderedMtf(station, 'vertical');
    plannedMtf(station, false).forEach((planned, i) => {
      expect(Math.abs(rendered[i]! - planned)).toBeLessThan(0.015);
    });
  });

  it('reference: with coma by gravity the worse of two edges has the MTF that the plan takes; the other is no worse', async () => {
    const station = stationWith({ tunableLens: { gravityComaRmsWaves: 0.12 } });
    const [vertical, horizontal] = [await renderedMtf(station, 'vertical'), await renderedMtf(station, 'horizontal')];
    const planned = plannedMtf(station, false);
    const without = plannedMtf(stationWith({}), false);
    planned.forEach((value, i) => {
      expect(Math.abs(Math.min(vertical[i]!, horizontal[i]!) - value)).toBeLessThan(0.015);
    });
    expect(planned[3]!).toBeLessThan(without[3]! - 0.1);
  });

  it('reference: smear of a moving object: across its way the plan’s MTF with motion, along it none', async () => {
    const station = stationWith({ task: { speedMmPerS: 60 } });
    const smeared = await renderedMtf(station, 'vertical', 60);
    const moving = plannedMtf(station, true);
    smeared.forEach((value, i) => {
      expect(Math.abs(value - moving[i]!)).toBeLessThan(0.02);
    });
    const along = await renderedMtf(station, 'horizontal', 60);
    plannedMtf(station, false).forEach((value, i) => {
      expect(Math.abs(value - along[i]!)).toBeLessThan(0.02);
    });
    expect(moving[3]!).toBeLessThan(0.8 * along[3]!);
  });
});
