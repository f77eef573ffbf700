import { seededRandom } from '../../base/index.js';
import type { Scene } from './canvas.js';
import { chartFor, clearOfChart, type FieldOfScene, paintChart } from './chart.js';
import { paintDisc } from './paint-disc.js';
import { paintGrain } from './paint-grain.js';

/** Per square centimetre of glaze. */
const specksPerCm2 = 5;
const pinholesPerCm2 = 1.2;
const pinholeDiameterMm = 0.2;

/**
 * A speckled glaze: uneven body colour, irregular iron specks of 0.2 to 1.4 mm, and the fault to be found, pinholes of 0.2 mm
 * with a bright rim; the chart in the middle. Invented.
 */
export function glazedWare(field: FieldOfScene, seed: number): Scene {
  const chart = chartFor(field);
  const random = seededRandom(seed).fork('glazed-ware');
  const { farWidthMm: width, farHeightMm: height } = field;
  const areaCm2 = (width * height) / 100;
  const somewhere = () => ({ xMm: width * (random.uniform() - 0.5), yMm: height * (random.uniform() - 0.5) });
  const specks = Array.from({ length: Math.round(areaCm2 * specksPerCm2) }, () => {
    const middle = somewhere();
    const radiusMm = 0.1 + 0.6 * random.uniform() ** 3;
    const reflectance = 0.1 + 0.2 * random.uniform();
    const opacity = 0.4 + 0.5 * random.uniform();
    return Array.from({ length: 3 }, () => ({
      middle: {
        xMm: middle.xMm + 0.35 * radiusMm * random.normal(),
        yMm: middle.yMm + 0.35 * radiusMm * random.normal(),
      },
      radiusMm: radiusMm * (0.5 + 0.5 * random.uniform()),
      reflectance,
      opacity,
    }));
  }).flat();
  const pinholes = Array.from({ length: Math.round(areaCm2 * pinholesPerCm2) }, somewhere).filter(({ xMm, yMm }) =>
    clearOfChart(chart, xMm, yMm, 1),
  );
  return {
    name: 'glazed-ware',
    paint(canvas) {
      const layers = [
        { sizeMm: 17, strengthRatio: 0.03 },
        { sizeMm: 3.1, strengthRatio: 0.02 },
        { sizeMm: 0.7, strengthRatio: 0.035 },
        { sizeMm: 0.21, strengthRatio: 0.04 },
      ];
      paintGrain(canvas, { mean: 0.55, seed, layers });
      for (const { middle, radiusMm, reflectance, opacity } of specks) {
        paintDisc(canvas, { middle, radiusMm }, reflectance, opacity);
      }
      for (const middle of pinholes) {
        const rimMm = pinholeDiameterMm * 0.9;
        paintDisc(canvas, { middle, radiusMm: rimMm, innerRadiusMm: pinholeDiameterMm / 2 }, 0.7, 0.7);
        paintDisc(canvas, { middle, radiusMm: pinholeDiameterMm / 2 }, 0.04);
      }
      paintChart(canvas, chart);
    },
  };
}
