import type { Station } from '../../station/index.js';
import { formatNumber } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { label, type Plot } from './figure.js';
import { clippedTo, polyline } from './marks.js';
import { drawLabels, type LabelWish, placeLabels } from './place-labels.js';
import type { DrawnLayout, DrawnLens, DrawnPlane, Ray } from './ray-trace.js';

/** Lenses and sensor with the heights at which they are drawn. */
export interface Section {
  lenses: (DrawnLens & { halfHeightMm: number })[];
  sensorZMm: number;
  sensorHalfMm: number;
  /** Largest height of anything in it. */
  halfHeightMm: number;
  endZMm: number;
}

/** Heights: the tunable lens by its clear aperture, other lenses as far as the drawn rays need. */
export function sectionOf(station: Station, layout: DrawnLayout, planes: readonly DrawnPlane[]): Section {
  const rays = planes.flatMap(({ rays }) => (rays ? [...rays.marginal, ...rays.chief] : []));
  const reached = (zMm: number) => rays.reduce((high, ray) => Math.max(high, Math.abs(heightAt(ray, zMm))), 1);
  const lenses = layout.lenses.map((lens) => ({
    ...lens,
    halfHeightMm: lens.powerDpt === null ? station.parts.tunableLens.clearApertureMm / 2 : reached(lens.zMm) * 1.25,
  }));
  const { widthPx, pixelPitchUm } = station.parts.sensor;
  const sensorHalfMm = (widthPx * pixelPitchUm) / 2000;
  const halfHeightMm = Math.max(sensorHalfMm, ...lenses.map((lens) => lens.halfHeightMm)) * 1.15;
  return { lenses, sensorZMm: layout.sensorZMm, sensorHalfMm, halfHeightMm, endZMm: layout.sensorZMm };
}

/** The enlarged drawing: one scale for both axes, rays cut at its edge. */
export function lensSection({
  section,
  planes,
  plot,
  overviewPxPerMm,
}: {
  section: Section;
  planes: readonly DrawnPlane[];
  plot: Plot;
  overviewPxPerMm: number;
}): Markup {
  const firstMm = Math.min(0, ...section.lenses.map((lens) => lens.zMm));
  const lengthMm = Math.max(section.sensorZMm - firstMm, 1);
  const [startMm, endMm] = [firstMm - lengthMm * 0.18, section.sensorZMm + lengthMm * 0.06];
  const labelRoom = 36;
  const pxPerMm = Math.min(
    (plot.rightPx - plot.leftPx) / (endMm - startMm),
    (plot.bottomPx - plot.topPx - labelRoom) / (2 * section.halfHeightMm),
  );
  const axisYPx = (plot.topPx + plot.bottomPx) / 2;
  const offset = (plot.leftPx + plot.rightPx) / 2 - ((startMm + endMm) / 2) * pxPerMm;
  const x = (zMm: number) => offset + zMm * pxPerMm;
  const y = (heightMm: number) => axisYPx - heightMm * pxPerMm;
  const frame: Plot = { leftPx: x(startMm), rightPx: x(endMm), topPx: plot.topPx, bottomPx: plot.bottomPx };
  const through = (ray: Ray) => ray.map((p) => [x(p.zMm), y(p.heightMm)] as const);
  const enlargement = pxPerMm / overviewPxPerMm;
  return element(
    'g',
    {},
    element('rect', {
      x: plot.leftPx,
      y: plot.topPx,
      width: plot.rightPx - plot.leftPx,
      height: plot.bottomPx - plot.topPx,
      fill: 'none',
      stroke: colour('rule'),
    }),
    clippedTo(
      frame,
      polyline(
        [
          [x(startMm), axisYPx],
          [x(endMm), axisYPx],
        ],
        { meaning: 'ink-soft', widthPx: 0.6, dash: '12 3 2 3' },
      ),
      section.lenses.map((lens) =>
        lensShape(x(lens.zMm), axisYPx, lens.halfHeightMm * pxPerMm, lens.powerDpt === null),
      ),
      planes.map(({ rays, dash }) =>
        rays === null
          ? null
          : [
              ...rays.chief.map((ray) => polyline(through(ray), { meaning: 'ink-soft', widthPx: 0.8, dash })),
              ...rays.marginal.map((ray) => polyline(through(ray), { meaning: 'predicted', widthPx: 1.3, dash })),
            ],
      ),
      element('line', {
        x1: x(0),
        x2: x(0),
        y1: plot.topPx,
        y2: plot.bottomPx,
        stroke: colour('required-edge'),
        'stroke-dasharray': '3 3',
      }),
      element('rect', {
        x: x(section.sensorZMm),
        y: y(section.sensorHalfMm),
        width: 5,
        height: 2 * section.sensorHalfMm * pxPerMm,
        fill: colour('ink'),
      }),
    ),
    drawLabels(placeLabels({ wishes: partLabels({ section, x, y }), bounds: plot })),
    label(
      `lenses and sensor, ${formatNumber(enlargement, 2)} × larger`,
      { xPx: plot.leftPx, yPx: plot.topPx - 6 },
      { soft: true, italic: true },
    ),
    scaleBar({ pxPerMm, plot }),
  );
}

function partLabels({
  section,
  x,
  y,
}: {
  section: Section;
  x: (zMm: number) => number;
  y: (heightMm: number) => number;
}): LabelWish[] {
  return [
    ...section.lenses.map(
      (lens): LabelWish => ({ text: lens.name, xPx: x(lens.zMm), yPx: y(lens.halfHeightMm), prefer: 'above' }),
    ),
    { text: 'sensor', xPx: x(section.sensorZMm), yPx: y(-section.sensorHalfMm), prefer: 'below' },
    { text: 'front', xPx: x(0), yPx: y(-section.halfHeightMm), prefer: 'below', soft: true },
  ];
}

/** A lens: two arcs; the tunable one has a dashed second surface, for it moves. */
function lensShape(xPx: number, yPx: number, halfPx: number, tunable: boolean): Markup {
  const bulge = Math.min(9, halfPx * 0.28);
  const surface = (side: 1 | -1) =>
    `M${xPx.toFixed(2)} ${(yPx - halfPx).toFixed(2)}Q${(xPx + side * 2 * bulge).toFixed(2)} ${yPx.toFixed(2)} ${xPx.toFixed(2)} ${(yPx + halfPx).toFixed(2)}`;
  const line = { fill: 'none', stroke: colour('ink'), 'stroke-width': 1.3 };
  return element(
    'g',
    {},
    element('path', {
      d: `${surface(-1)}Q${(xPx + 2 * bulge).toFixed(2)} ${yPx.toFixed(2)} ${xPx.toFixed(2)} ${(yPx - halfPx).toFixed(2)}Z`,
      fill: colour('paper-tint'),
    }),
    element('path', { d: surface(1), ...line }),
    element('path', { d: surface(-1), ...line, 'stroke-dasharray': tunable ? '3 2' : null }),
  );
}

/** A length to measure by, below the drawing. */
function scaleBar({ pxPerMm, plot }: { pxPerMm: number; plot: Plot }): Markup {
  const wanted = (plot.rightPx - plot.leftPx) * 0.3;
  const decade = 10 ** Math.floor(Math.log10(wanted / pxPerMm));
  const lengthMm = [5, 2, 1].map((step) => step * decade).find((length) => length * pxPerMm <= wanted) ?? decade;
  const [left, yPx] = [plot.leftPx, plot.bottomPx + 14];
  const right = left + lengthMm * pxPerMm;
  return element(
    'g',
    {},
    element('path', {
      d: `M${left.toFixed(2)} ${yPx - 4}V${yPx}H${right.toFixed(2)}V${yPx - 4}`,
      fill: 'none',
      stroke: colour('ink'),
    }),
    label(`${formatNumber(lengthMm)} mm`, { xPx: right + 6, yPx: yPx + 1 }, { soft: true }),
  );
}

/** Height of a ray where it passes a plane it was traced to. */
const heightAt = (ray: Ray, zMm: number): number => ray.find((p) => p.zMm === zMm)?.heightMm ?? 0;
