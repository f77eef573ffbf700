import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { type Station, stationSchema } from '../../src/station/schema.js';
import { type Pixels, readPixels, readRows, readText } from './folder.js';
import { recordedTruth, runTruth } from './truth.js';

/** Mean squared difference of neighbours along both axes: a focus measure written out here, apart from src/image. */
function gradientEnergy({ widthPx, heightPx, values }: Pixels): number {
  let sum = 0;
  for (let y = 0; y < heightPx - 1; y++) {
    for (let x = 0; x < widthPx - 1; x++) {
      const i = y * widthPx + x;
      sum += (values[i + 1]! - values[i]!) ** 2 + (values[i + widthPx]! - values[i]!) ** 2;
    }
  }
  return sum / (widthPx - 1) / (heightPx - 1);
}

function sharpest(folder: string, rows: { file: string; focalPowerDpt: number }[]) {
  const measures = rows.map((row) => gradientEnergy(readPixels(`${folder}/${row.file}`)));
  const peak = measures.indexOf(Math.max(...measures));
  return { peak, power: rows[peak]!.focalPowerDpt, measures };
}

const nearest = (rows: { focalPowerDpt: number }[], power: number) =>
  rows.reduce(
    (best, row, i) => (Math.abs(row.focalPowerDpt - power) < Math.abs(rows[best]!.focalPowerDpt - power) ? i : best),
    0,
  );

function statistics({ widthPx, values }: Pixels, area: { x0: number; x1: number; y0: number; y1: number }) {
  const inside: number[] = [];
  for (let y = area.y0; y < area.y1; y++) for (let x = area.x0; x < area.x1; x++) inside.push(values[y * widthPx + x]!);
  const mean = inside.reduce((a, b) => a + b, 0) / inside.length;
  return { mean, variance: inside.reduce((a, b) => a + (b - mean) ** 2, 0) / (inside.length - 1) };
}

describe('recorded-frames', () => {
  const truth = recordedTruth();
  const rows = readRows('recorded-frames');

  it('recovery: the sharpest frame of each distance is the one nearest the true best focus, or its neighbour', () => {
    for (const d of truth.distances) {
      const own = rows.filter((row) => row.workingDistanceMm === d.workingDistanceMm);
      const { peak, measures } = sharpest('recorded-frames', own);
      expect(Math.abs(peak - nearest(own, d.bestFocusDpt)), `${d.workingDistanceMm} mm`).toBeLessThanOrEqual(1);
      expect(measures[peak]! / Math.max(measures[0]!, measures.at(-1)!), 'contrast of the run').toBeGreaterThan(3);
    }
  });

  it('closed form: mean and variance of both flat sides of an edge follow the EMVA 1288 linear model', () => {
    const station: Station = stationSchema.parse(parse(readText('recorded-frames/station.yaml')));
    const { sensor, light } = station.parts;
    // 50.34·A·t·λ·E photons (EMVA 1288 R3.1 eq. 4), reflectance 0.12 and 0.75 of the printed edge.
    const white =
      50.3411657 *
      sensor.pixelPitchUm ** 2 *
      station.controls.exposureMs *
      light.wavelengthNm *
      1e-3 *
      light.sensorIrradianceUwPerCm2! *
      sensor.quantumEfficiency;
    const { region } = truth.edges[0]!;
    const area = { y0: region.yPx + 15, y1: region.yPx + region.heightPx - 15 };
    const sides = [
      { reflectance: 0.12, x0: region.xPx + 12, x1: region.xPx + 44 },
      { reflectance: 0.75, x0: region.xPx + region.widthPx - 44, x1: region.xPx + region.widthPx - 12 },
    ];
    for (const file of ['d250_08.png', 'd355_07.png', 'd450_09.png']) {
      for (const { reflectance, x0, x1 } of sides) {
        const { mean, variance } = statistics(readPixels(`recorded-frames/${file}`), { ...area, x0, x1 });
        const k = sensor.gainDnPerE;
        const expected = k ** 2 * (reflectance * white + sensor.readNoiseE ** 2) + 1 / 12;
        // Diffraction throws 2/(π·v) of the light farther than v·λN/π: 0.3 % at 30 px, so 0.3 DN of a step of 127 DN.
        expect(Math.abs(mean - (k * reflectance * white + sensor.blackLevelDn))).toBeLessThan(0.4);
        // 2944 pixels: the variance is known to 2.6 %, so 12 % is more than 4 sigma.
        expect(Math.abs(variance / expected - 1), `${file} at ${reflectance}`).toBeLessThan(0.12);
      }
    }
  });

  it('property: nothing is saturated', () => {
    for (const { file } of rows)
      expect(Math.max(...Array.from(readPixels(`recorded-frames/${file}`).values)), file).toBeLessThan(250);
  });
});

describe('focus-run', () => {
  it('recovery: a parabola through the logarithm of the three sharpest frames finds the true best focus to a quarter of a step', () => {
    const truth = runTruth();
    const rows = readRows('focus-run');
    const { peak, measures } = sharpest('focus-run', rows);
    const [a, b, c] = [measures[peak - 1]!, measures[peak]!, measures[peak + 1]!].map(Math.log);
    const step = rows[1]!.focalPowerDpt - rows[0]!.focalPowerDpt;
    const found = rows[peak]!.focalPowerDpt + (step * (a! - c!)) / (2 * (a! - 2 * b! + c!));
    expect(Math.abs(found - truth.bestFocusDpt)).toBeLessThan(step / 4);
  });
});
