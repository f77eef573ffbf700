import type { Station } from '../../station/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { label, type Plot, textWidthPx } from './figure.js';
import type { Section } from './lens-section.js';
import { polyline, requiredBand } from './marks.js';
import type { DrawnPlane, Ray } from './ray-trace.js';

/** How the whole station fits its place in the drawing. */
export interface OverviewFit {
  plot: Plot;
  pxPerMm: number;
  /** By how much heights are drawn larger than lengths; 1 where both have one scale. */
  exaggeration: number;
  halfHeightPx: number;
  startZMm: number;
}

/** Room that one row of dimensions takes. */
export const dimensionRowPx = 20;

/** One scale for both axes, or heights enlarged by a round factor where the field would be a thin strip. */
export function fitOverview({
  station,
  planes,
  section,
  plot,
}: {
  station: Station;
  planes: readonly DrawnPlane[];
  section: Section;
  plot: Plot;
}): OverviewFit {
  const { farMm, fieldWidthMm } = station.task;
  const startZMm = -planes.reduce((far, { plane }) => Math.max(far, plane.workingDistanceMm), farMm) * 1.02;
  const halfHeightMm = planes.reduce(
    (half, { plane }) => Math.max(half, plane.fieldWidthMm / 2),
    Math.max(section.halfHeightMm, fieldWidthMm / 2),
  );
  const roomPx = Math.max(plot.bottomPx - plot.topPx, 20);
  const byWidth = (plot.rightPx - plot.leftPx) / (section.endZMm * 1.02 - startZMm);
  const pxPerMm = Math.min(byWidth, roomPx / (2 * halfHeightMm));
  const stripPx = pxPerMm * 2 * halfHeightMm;
  const fitting = [1000, 500, 200, 100, 50, 20, 10, 5, 2].find((factor) => stripPx * factor <= roomPx);
  const exaggeration = stripPx < roomPx * 0.25 ? (fitting ?? 1) : 1;
  return { plot, pxPerMm, exaggeration, halfHeightPx: (stripPx * exaggeration) / 2, startZMm };
}

/** Objects, rays, lenses and sensor from the side, with a row of dimensions for each plane below. */
export function overviewDrawing({
  station,
  planes,
  section,
  fit,
}: {
  station: Station;
  planes: readonly DrawnPlane[];
  section: Section;
  fit: OverviewFit;
}): Markup {
  const { plot, pxPerMm, exaggeration, startZMm } = fit;
  const { nearMm, farMm, fieldWidthMm } = station.task;
  const spareMm = (plot.rightPx - plot.leftPx) / pxPerMm - (section.endZMm * 1.02 - startZMm);
  const x = (zMm: number) => plot.leftPx + (zMm - startZMm + spareMm / 2) * pxPerMm;
  const axisYPx = (plot.topPx + plot.bottomPx) / 2;
  const y = (heightMm: number) => axisYPx - heightMm * pxPerMm * exaggeration;
  const through = (ray: Ray) => ray.map((p) => [x(p.zMm), y(p.heightMm)] as const);
  const upright = (zMm: number, halfMm: number, attributes: { 'stroke-width': number; 'stroke-dasharray'?: string }) =>
    element('line', { x1: x(zMm), x2: x(zMm), y1: y(halfMm), y2: y(-halfMm), stroke: colour('ink'), ...attributes });
  const axis = [[x(startZMm), axisYPx] as const, [x(section.endZMm), axisYPx] as const];
  return element(
    'g',
    {},
    requiredBand({
      x1Px: x(-farMm),
      x2Px: x(-nearMm),
      y1Px: y(fieldWidthMm / 2),
      y2Px: y(-fieldWidthMm / 2),
      edges: 'left-right',
    }),
    polyline(axis, { meaning: 'ink-soft', widthPx: 0.6, dash: '12 3 2 3' }),
    planes.map(({ rays, dash }) => [
      ...(rays?.chief ?? []).map((ray) => polyline(through(ray), { meaning: 'ink-soft', widthPx: 0.7, dash })),
      ...(rays?.marginal ?? []).map((ray) => polyline(through(ray), { meaning: 'predicted', widthPx: 1.1, dash })),
    ]),
    planes.map(({ plane, dash }) =>
      upright(-plane.workingDistanceMm, plane.fieldWidthMm / 2, { 'stroke-width': 1.6, 'stroke-dasharray': dash }),
    ),
    section.lenses.map((lens) => upright(lens.zMm, lens.halfHeightMm, { 'stroke-width': 2 })),
    upright(section.sensorZMm, section.sensorHalfMm, { 'stroke-width': 3 }),
    dimensions({ planes, x, plot, fromYPx: axisYPx, belowYPx: axisYPx + fit.halfHeightPx }),
    label(
      `task ${formatNumber(nearMm, 4)}–${formatNumber(farMm, 4)} mm, field ${formatNumber(fieldWidthMm, 4)} mm`,
      { xPx: plot.leftPx, yPx: 14 },
      { soft: true },
    ),
    label(
      exaggeration === 1 ? 'to scale' : `heights × ${exaggeration}`,
      { xPx: plot.rightPx, yPx: plot.topPx - 2 },
      { anchor: 'end', soft: true, italic: true },
    ),
  );
}

/** From the front to each object: distance, power and, where there is room, field. */
function dimensions({
  planes,
  x,
  plot,
  fromYPx,
  belowYPx,
}: {
  planes: readonly DrawnPlane[];
  x: (zMm: number) => number;
  plot: Plot;
  fromYPx: number;
  belowYPx: number;
}): Markup[] {
  return planes.map(({ plane }, i) => {
    const yPx = Math.min(belowYPx, plot.bottomPx) + 22 + dimensionRowPx * i;
    const [left, right] = [x(-plane.workingDistanceMm), x(0)];
    const power = plane.focalPowerDpt === null ? 'out of reach' : `${formatFixed(plane.focalPowerDpt, 2)} dpt`;
    const short = `${plane.name} ${withUnit(plane.workingDistanceMm, 'mm', 4)} · ${power}`;
    const long = `${short} · field ${withUnit(plane.fieldWidthMm, 'mm')}`;
    const text = textWidthPx(long) < right - left - 10 ? long : short;
    const middle = Math.max(plot.leftPx + textWidthPx(text) / 2, (left + right) / 2);
    const end = { y1: yPx - 4, y2: yPx + 4, stroke: colour('ink') };
    return element(
      'g',
      {},
      element('line', { x1: left, x2: left, y1: fromYPx, y2: yPx, stroke: colour('rule'), 'stroke-width': 0.6 }),
      element('line', { x1: left, x2: right, y1: yPx, y2: yPx, stroke: colour('ink-soft'), 'stroke-width': 0.8 }),
      element('line', { x1: left, x2: left, ...end }),
      element('line', { x1: right, x2: right, ...end }),
      label(text, { xPx: middle, yPx: yPx - 3 }, { anchor: 'middle' }),
    );
  });
}
