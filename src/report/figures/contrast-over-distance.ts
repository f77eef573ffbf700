import { scaleLinear } from 'd3-scale';
import type { HeldFocus, SharpnessRecord, Station } from '../../station/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { axisRoomPx, bottomRoomPx, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, type Plot } from './figure.js';
import { linePlot, planeDashes } from './line-plot.js';

export interface OverDistanceInput {
  station: Station;
  sharpness: SharpnessRecord;
  /** Drawn on scales that hold these too, so that figures can be compared side by side. */
  scaleWith?: readonly SharpnessRecord[];
}

/**
 * Contrast of the smallest feature over distance: refocused at each, and with the focus held at the nearest, a middle and
 * the farthest plane.
 */
export function contrastOverDistanceFigure(
  { station, sharpness, scaleWith = [] }: OverDistanceInput,
  size: FigureSize,
): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { overDistance } = sharpness;
  const { nearMm, farMm, contrastNeeded } = station.task;
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const y = scaleLinear().domain([0, 1]).range([bottomPx, topPx]);
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 12, topPx, bottomPx };
  const x = scaleOver(shownMm(station, sharpness, scaleWith), [plot.leftPx, plot.rightPx], { padding: 0 });
  const body = linePlot({
    plot,
    x,
    y,
    lines: [
      {
        points: knownPoints(overDistance.workingDistancesMm, overDistance.refocusedMtfAtTask),
        name: 'refocused',
        nameShare: 0.25,
        widthPx: 2.2,
        prefer: 'above' as const,
      },
      ...overDistance.held.map((held, i) => ({
        points: held.mtfAtTask.map((mtf, k) => [overDistance.workingDistancesMm[k]!, mtf] as const),
        name: held.name,
        nameShare: peakShare(held),
        prefer: 'below' as const,
        dash: planeDashes[i],
        widthPx: 1.3,
      })),
    ],
    required: {
      x: [nearMm, farMm],
      y: [contrastNeeded, 1],
      edges: ['left', 'right', 'bottom'],
      name: `needed ${formatNumber(contrastNeeded)}`,
    },
    axes: { x: 'Working distance, mm', y: 'Contrast of the smallest feature, refocused or held' },
  });
  return figureOf({
    title: titleOf(station, sharpness),
    description: descriptionOf(station, sharpness),
    size: { widthPx, heightPx },
    body,
  });
}

/** Ends of the horizontal axis. */
export function shownMm(
  { task: { nearMm, farMm } }: Station,
  sharpness: SharpnessRecord,
  scaleWith: readonly SharpnessRecord[],
): number[] {
  return [nearMm, farMm, ...[sharpness, ...scaleWith].flatMap((s) => ends(s.overDistance.workingDistancesMm))];
}

const ends = (values: readonly number[]): number[] => (values.length ? [values[0]!, values[values.length - 1]!] : []);

/** Points where there is a value. */
export const knownPoints = (xs: readonly number[], ys: readonly (number | null)[]): [number, number][] =>
  xs.flatMap((x, i): [number, number][] => (ys[i] === null || ys[i] === undefined ? [] : [[x, ys[i]!]]));

/** The peak: the name stands below it, inside the hump. */
function peakShare({ mtfAtTask }: HeldFocus): number {
  return mtfAtTask.indexOf(Math.max(...mtfAtTask)) / Math.max(1, mtfAtTask.length - 1);
}

/** Distances around the held focus over which the contrast suffices, straight between samples; null for none. */
export function sharpRange(
  held: HeldFocus,
  distancesMm: readonly number[],
  contrastNeeded: number,
): { nearMm: number; farMm: number; openNear: boolean; openFar: boolean } | null {
  const start = distancesMm.reduce(
    (best, mm, i) => (Math.abs(mm - held.focusedAtMm) < Math.abs(distancesMm[best]! - held.focusedAtMm) ? i : best),
    0,
  );
  const enough = (i: number) => held.mtfAtTask[i]! >= contrastNeeded;
  if (distancesMm.length === 0 || !enough(start)) return null;
  const walk = (step: 1 | -1) => {
    let i = start;
    while (i + step >= 0 && i + step < distancesMm.length && enough(i + step)) i += step;
    const out = i + step;
    if (out < 0 || out >= distancesMm.length) return { mm: distancesMm[i]!, open: true };
    const [a, b] = [held.mtfAtTask[i]!, held.mtfAtTask[out]!];
    return {
      mm: distancesMm[i]! + ((a - contrastNeeded) / (a - b)) * (distancesMm[out]! - distancesMm[i]!),
      open: false,
    };
  };
  const [near, far] = [walk(-1), walk(1)];
  return { nearMm: near.mm, farMm: far.mm, openNear: near.open, openFar: far.open };
}

function titleOf({ task }: Station, { overDistance, planes }: SharpnessRecord): string {
  if (planes.length === 0) return 'No contrast over distance: no plane can be focused';
  const inTask = overDistance.workingDistancesMm.flatMap((mm, i) =>
    mm >= task.nearMm && mm <= task.farMm ? [overDistance.refocusedMtfAtTask[i] ?? null] : [],
  );
  const least = inTask.reduce<number>((a, b) => Math.min(a, b ?? 0), 1);
  const refocused = inTask.includes(null)
    ? 'Part of the range is out of the lens’s reach'
    : least >= task.contrastNeeded
      ? `Refocused, contrast stays at ${formatFixed(least, 2)} or more`
      : `Even refocused, contrast falls to ${formatFixed(least, 2)}`;
  const middle = overDistance.held[overDistance.held.length >> 1];
  const range = middle && sharpRange(middle, overDistance.workingDistancesMm, task.contrastNeeded);
  if (!range) return `${refocused}; ${formatNumber(task.contrastNeeded)} is needed`;
  return range.openNear && range.openFar
    ? `${refocused}; held at ${middle.name} it is enough everywhere`
    : `${refocused}; held at ${middle.name} it is enough from ${formatNumber(range.nearMm)} to ${withUnit(range.farMm, 'mm')}`;
}

function descriptionOf(station: Station, sharpness: SharpnessRecord): string {
  const { held, workingDistancesMm } = sharpness.overDistance;
  const each = held.map((one) => {
    const range = sharpRange(one, workingDistancesMm, station.task.contrastNeeded);
    return range
      ? `held at ${one.name} (${withUnit(one.focalPowerDpt, 'dpt')}): enough from ${withUnit(range.nearMm, 'mm', 4)} to ${withUnit(range.farMm, 'mm', 4)}`
      : `held at ${one.name}: not enough even in focus`;
  });
  return `Contrast of the smallest feature, ${withUnit(station.task.smallestFeatureMm, 'mm')}, over working distance for ${station.station}, on the axis. ${titleOf(station, sharpness)}. ${each.join('; ')}.`;
}
