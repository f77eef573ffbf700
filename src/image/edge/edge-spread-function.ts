import { blurVariancePx2 } from './edge-model.js';
import type { FittedEdge } from './fit-edge.js';

/** One point of the edge spread function: 0 = dark, 1 = bright. */
export interface SpreadPoint {
  distancePx: number;
  measured: number | null;
  fitted: number;
}

/** The edge as measured (means) and as fitted, at steps of a quarter pixel or a sixth of the blur, within six blur widths. */
export function edgeSpreadFunction(edge: FittedEdge, departure: Float64Array): SpreadPoint[] {
  const { tables, sums, levels, blur } = edge;
  const { esf, size, stepPx } = tables;
  const swing = levels.brightDn - levels.darkDn;
  const blurPx = Math.sqrt(blurVariancePx2(blur));
  const group = Math.max(1, Math.round(Math.max(0.25, blurPx / 6) / stepPx));
  const reach = Math.min(Math.floor((6 * blurPx + 3) / stepPx), size / 2 - group);
  const points: SpreadPoint[] = [];
  for (let middle = -Math.floor(reach / group) * group; middle <= reach; middle += group) {
    let count = 0;
    let sum = 0;
    const centre = size / 2 + middle;
    for (let k = centre - (group >> 1); k < centre - (group >> 1) + group; k++) {
      count += sums.counts[k]!;
      sum += sums.sums[k]!;
    }
    points.push({
      distancePx: middle * stepPx,
      measured: count > 0 ? esf[centre]! + sum / count / swing : null,
      fitted: esf[centre]! + departure[centre]!,
    });
  }
  return points;
}

/** Distance over which the fitted curve rises from 10 % to 90 %. */
export function riseDistancePx(points: readonly SpreadPoint[]): number {
  const crossing = (level: number) => {
    const i = points.findIndex((point) => point.fitted >= level);
    const [a, b] = [points[Math.max(0, i - 1)]!, points[Math.max(1, i)]!];
    return a.distancePx + ((level - a.fitted) / (b.fitted - a.fitted)) * (b.distancePx - a.distancePx);
  };
  return crossing(0.9) - crossing(0.1);
}
