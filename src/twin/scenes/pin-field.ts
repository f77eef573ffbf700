import { seededRandom } from '../../base/index.js';
import type { Scene } from './canvas.js';
import { chartFor, clearOfChart, type FieldOfScene, paintChart } from './chart.js';
import { paintDisc } from './paint-disc.js';
import { paintGrain } from './paint-grain.js';

/** Of two neighbouring pins, in pixels at the smallest magnification. */
const pitchPx = 22;

/** Rows of bright pins on a dark, woven board, some of them bent; the chart in the middle. Invented. */
export function pinField(field: FieldOfScene, seed: number): Scene {
  const chart = chartFor(field);
  const random = seededRandom(seed).fork('pin-field');
  const pitchMm = pitchPx * field.farPixelMm;
  const columns = Math.ceil(field.farWidthMm / pitchMm / 2);
  const rows = Math.ceil(field.farHeightMm / pitchMm / 2);
  const pins: { xMm: number; yMm: number; brightness: number }[] = [];
  for (let row = -rows; row <= rows; row++) {
    for (let column = -columns; column <= columns; column++) {
      const bentMm = random.uniform() < 0.04 ? 0.25 * pitchMm : 0.015 * pitchMm;
      pins.push({
        xMm: column * pitchMm + bentMm * random.normal(),
        yMm: row * pitchMm + bentMm * random.normal(),
        brightness: 0.75 + 0.2 * random.uniform(),
      });
    }
  }
  const radiusMm = 0.21 * pitchMm;
  const free = pins.filter(({ xMm, yMm }) => clearOfChart(chart, xMm, yMm, 2 * radiusMm));
  return {
    name: 'pin-field',
    paint(canvas) {
      const layers = [
        { sizeMm: 40 * field.farPixelMm, strengthRatio: 0.02 },
        { sizeMm: 4.3 * field.farPixelMm, strengthRatio: 0.02 },
        { sizeMm: 1.5 * field.farPixelMm, strengthRatio: 0.035 },
      ];
      paintGrain(canvas, { mean: 0.24, seed, layers });
      for (const { xMm, yMm, brightness } of free) {
        const shadow = { xMm: xMm + 0.5 * radiusMm, yMm: yMm + 0.6 * radiusMm };
        paintDisc(canvas, { middle: shadow, radiusMm: radiusMm * 1.15 }, 0.06, 0.75);
        paintDisc(canvas, { middle: { xMm, yMm }, radiusMm }, 0.5 * brightness);
        const tip = { xMm: xMm - 0.12 * radiusMm, yMm: yMm - 0.15 * radiusMm };
        paintDisc(canvas, { middle: tip, radiusMm: radiusMm * 0.6 }, brightness);
      }
      paintChart(canvas, chart);
    },
  };
}
