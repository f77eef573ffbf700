import { layoutModelOf, type PlanRecord, type Station } from '../../station/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { drawableSize, type Figure, type FigureSize, figureOf, type Plot } from './figure.js';
import { lensSection, sectionOf } from './lens-section.js';
import { type DrawnPlane, drawnLayout, rayFan } from './ray-trace.js';
import { dimensionRowPx, fitOverview, overviewDrawing } from './station-overview.js';

export interface RayDrawingInput {
  station: Station;
  plan: PlanRecord;
}

/**
 * The station from the side, to scale: objects at near, middle and far on the left, lenses and sensor on the right, with
 * the rays that make each of them sharp; beside it the lenses and the sensor enlarged.
 *
 * Model    rays by paraxial matrices (see ray-trace.ts); field = what the sensor's rows see at each distance
 * Returns  higher than asked where the drawing needs it.
 * Trust    the width of housings is drawn for orientation only; lens curvature means nothing. Both axes have one scale
 *          unless the drawing says by how much heights are enlarged.
 */
export function rayDrawingFigure({ station, plan }: RayDrawingInput, size: FigureSize): Figure {
  const asked = drawableSize(size);
  const { widthPx } = asked;
  const wide = widthPx >= 640;
  const heightPx = Math.max(asked.heightPx, wide ? 240 : 400);
  const planes = drawnPlanes(station, plan);
  const model = layoutModelOf(station);
  const section = sectionOf(station, drawnLayout(model), planes);
  const dimensionRoom = dimensionRowPx * planes.length + 8;
  const room: Plot = {
    leftPx: 8,
    rightPx: wide ? Math.round(widthPx * 0.66) : widthPx - 8,
    topPx: 30,
    bottomPx: (wide ? heightPx : Math.round(heightPx * 0.6)) - dimensionRoom,
  };
  const full = fitOverview({ station, planes, section, plot: room });
  const needed = room.topPx + 2 * full.halfHeightPx + 8;
  const fit = wide ? full : fitOverview({ station, planes, section, plot: { ...room, bottomPx: needed } });
  const detail: Plot = wide
    ? { leftPx: room.rightPx + 22, rightPx: widthPx - 8, topPx: 34, bottomPx: heightPx - 34 }
    : { leftPx: 8, rightPx: widthPx - 8, topPx: needed + dimensionRoom + 32, bottomPx: heightPx - 30 };
  const enlarged = lensSection({ section, planes, plot: detail, overviewPxPerMm: fit.pxPerMm });
  return figureOf({
    title: titleOf(planes, plan),
    description: descriptionOf({ station, planes, exaggeration: fit.exaggeration }),
    size: { widthPx, heightPx },
    body: [overviewDrawing({ station, planes, section, fit }), enlarged],
  });
}

/** Near, middle and far where the plan has them, else the outermost planes and one between. */
function drawnPlanes(station: Station, plan: PlanRecord): DrawnPlane[] {
  const sorted = plan.planes
    .filter((plane) => Number.isFinite(plane.workingDistanceMm) && plane.workingDistanceMm > 0)
    .sort((a, b) => a.workingDistanceMm - b.workingDistanceMm);
  const named = ['near', 'middle', 'far'].flatMap((name) => sorted.find((plane) => plane.name === name) ?? []);
  const outer = [sorted[0], sorted[Math.floor((sorted.length - 1) / 2)], sorted[sorted.length - 1]];
  const chosen = named.length > 0 ? named : [...new Set(outer)].filter((plane) => plane !== undefined);
  const dashes = [undefined, '7 3', '2 3'];
  const model = layoutModelOf(station);
  return chosen.map((plane, i) => ({
    plane,
    dash: dashes[i],
    rays:
      plane.focalPowerDpt === null
        ? null
        : rayFan({
            model,
            workingDistanceMm: plane.workingDistanceMm,
            focalPowerDpt: plane.focalPowerDpt,
            halfFieldMm: plane.fieldWidthMm / 2,
          }),
  }));
}

function titleOf(planes: DrawnPlane[], { reach }: PlanRecord): string {
  const out = planes.filter(({ plane }) => plane.focalPowerDpt === null);
  if (planes.length === 0) return 'No plane to draw';
  const limits = `${formatNumber(reach.powerMinDpt)} to ${withUnit(reach.powerMaxDpt, 'dpt')}`;
  if (out.length > 0) {
    const list = out.map(({ plane }) => withUnit(plane.workingDistanceMm, 'mm', 4)).join(', ');
    return `${list} cannot be brought into focus with ${limits}`;
  }
  const list = planes.map(
    ({ plane }) => `${withUnit(plane.workingDistanceMm, 'mm', 4)} at ${`${formatFixed(plane.focalPowerDpt!, 2)} dpt`}`,
  );
  const stop = planes.every(({ plane }) => plane.limitingStop === 'fixed-lens')
    ? 'the fixed lens’s stop'
    : 'the tunable lens';
  return `${list.join(', ')} come to focus on the sensor; ${stop} limits the aperture`;
}

function descriptionOf({
  station,
  planes,
  exaggeration,
}: {
  station: Station;
  planes: DrawnPlane[];
  exaggeration: number;
}): string {
  const { tunableLensAt, gapMm, fNumber } = station.layout;
  const scale =
    exaggeration === 1
      ? 'Both axes have the same scale.'
      : `Heights are drawn ${exaggeration} times larger than lengths along the axis.`;
  const list = planes.map(
    ({ plane }) =>
      `${plane.name}: ${withUnit(plane.workingDistanceMm, 'mm', 4)}, field ${withUnit(plane.fieldWidthMm, 'mm')} wide, working f-number ${formatNumber(plane.workingFNumber)}`,
  );
  return `Side view of ${station.station}: tunable lens ${tunableLensAt}, gap ${withUnit(gapMm, 'mm')}, f/${formatNumber(fNumber)}. ${list.join('; ')}. ${scale} Housings are drawn for orientation only.`;
}
