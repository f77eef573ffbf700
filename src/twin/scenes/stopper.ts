import { seededRandom } from '../../base/index.js';
import type { Canvas, Scene } from './canvas.js';
import { chartFor, type FieldOfScene, paintChart } from './chart.js';
import { paintDisc } from './paint-disc.js';
import { paintGrain } from './paint-grain.js';
import { paintPolygon } from './paint-polygon.js';

/** Ribs that keep the stopper off its seat, and pits left by the mould. */
const ribCount = 4;
const pitCount = 90;

/**
 * A rubber stopper from above on a light, grained tray: moulded rings, ribs, pits, dust; the chart in the middle.
 * Invented.
 */
export function stopper(field: FieldOfScene, seed: number): Scene {
  const chart = chartFor(field);
  const random = seededRandom(seed).fork('stopper');
  const radiusMm = 0.47 * Math.min(field.nearWidthMm, field.nearHeightMm);
  const middle = { xMm: 0, yMm: 0 };
  const rings = Array.from({ length: 9 }, (_, i) => ({
    radiusMm: radiusMm * (0.98 - 0.105 * i),
    widthMm: radiusMm * (0.008 + 0.02 * random.uniform()),
    reflectance: 0.14 + 0.22 * random.uniform(),
  }));
  const dust = Array.from({ length: 400 }, () => ({
    middle: { xMm: field.farWidthMm * (random.uniform() - 0.5), yMm: field.farHeightMm * (random.uniform() - 0.5) },
    radiusMm: field.farPixelMm * (0.3 + 2 * random.uniform() ** 3),
    reflectance: random.uniform() < 0.5 ? 0.1 : 0.75,
  }));
  const pits = Array.from({ length: pitCount }, () => {
    const angle = 2 * Math.PI * random.uniform();
    const along = radiusMm * Math.sqrt(random.uniform()) * 0.93;
    return {
      middle: { xMm: along * Math.cos(angle), yMm: along * Math.sin(angle) },
      radiusMm: field.farPixelMm * (0.5 + 3 * random.uniform() ** 2),
    };
  });
  return {
    name: 'stopper',
    paint(canvas) {
      const layers = [
        { sizeMm: 60 * field.farPixelMm, strengthRatio: 0.03 },
        { sizeMm: 6 * field.farPixelMm, strengthRatio: 0.025 },
        { sizeMm: 1.6 * field.farPixelMm, strengthRatio: 0.05 },
      ];
      paintGrain(canvas, { mean: 0.62, seed, layers });
      paintDisc(canvas, { middle, radiusMm }, 0.24, 0.85);
      for (const ring of rings) {
        const innerRadiusMm = ring.radiusMm - ring.widthMm;
        paintDisc(canvas, { middle, radiusMm: ring.radiusMm, innerRadiusMm }, ring.reflectance, 0.9);
      }
      for (let i = 0; i < ribCount; i++) paintRib(canvas, radiusMm, (2 * Math.PI * (i + 0.5)) / ribCount);
      for (const pit of pits) paintDisc(canvas, pit, 0.08, 0.9);
      for (const speck of dust) paintDisc(canvas, speck, speck.reflectance, 0.8);
      paintChart(canvas, chart);
    },
  };
}

function paintRib(canvas: Canvas, radiusMm: number, angle: number): void {
  const at = (along: number, across: number) => ({
    xMm: radiusMm * (along * Math.cos(angle) - across * Math.sin(angle)),
    yMm: radiusMm * (along * Math.sin(angle) + across * Math.cos(angle)),
  });
  const rib = (from: number, until: number, left: number, right: number) => [
    at(from, left),
    at(until, left),
    at(until, right),
    at(from, right),
  ];
  paintPolygon(canvas, rib(0.3, 0.74, -0.035, 0.035), 0.36);
  paintPolygon(canvas, rib(0.3, 0.74, 0.028, 0.04), 0.1);
  paintDisc(canvas, { middle: at(0.84, 0), radiusMm: 0.03 * radiusMm, innerRadiusMm: 0.022 * radiusMm }, 0.42);
}
