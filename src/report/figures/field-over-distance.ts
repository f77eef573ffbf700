import { mmFromUm } from '../../base/index.js';
import type { SharpnessRecord, Station } from '../../station/index.js';
import { formatNumber, withUnit } from '../format-number.js';
import { axisRoomPx, bottomRoomPx, scaleOver, titleRoomPx } from './axis.js';
import { knownPoints, type OverDistanceInput, shownMm } from './contrast-over-distance.js';
import { drawableSize, type Figure, type FigureSize, figureOf, type Plot } from './figure.js';
import { linePlot, planeDashes } from './line-plot.js';

/**
 * Width that the sensor sees over distance: refocused at each, and with the focus held; how far held lines stand apart at
 * one distance is the breathing.
 */
export function fieldOverDistanceFigure(
  { station, sharpness, scaleWith = [] }: OverDistanceInput,
  size: FigureSize,
): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { overDistance } = sharpness;
  const { nearMm, farMm, fieldWidthMm } = station.task;
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const widths = [sharpness, ...scaleWith].flatMap(widthsOf);
  const y = scaleOver([fieldWidthMm, ...widths], [bottomPx, topPx]);
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 12, topPx, bottomPx };
  const x = scaleOver(shownMm(station, sharpness, scaleWith), [plot.leftPx, plot.rightPx], { padding: 0 });
  const body = linePlot({
    plot,
    x,
    y,
    lines: [
      {
        points: knownPoints(overDistance.workingDistancesMm, overDistance.refocusedFieldWidthMm),
        name: 'refocused',
        nameShare: 0.5,
        widthPx: 2.2,
        prefer: 'left',
      },
      ...overDistance.held.map((held, i) => ({
        points: held.fieldWidthMm.map((mm, k) => [overDistance.workingDistancesMm[k]!, mm] as const),
        name: held.name,
        nameShare: [0.97, 0.75, 0.2][i] ?? 0.5,
        dash: planeDashes[i],
        widthPx: 1.2,
      })),
    ],
    required: {
      x: [nearMm, farMm],
      y: [fieldWidthMm, y.domain()[1]!],
      edges: ['left', 'right', 'bottom'],
      name: `needed ${withUnit(fieldWidthMm, 'mm', 4)}`,
    },
    axes: { x: 'Working distance, mm', y: 'Width of the field, mm, refocused or held' },
  });
  return figureOf({
    title: titleOf(station, sharpness),
    description: descriptionOf(station, sharpness),
    size: { widthPx, heightPx },
    body,
  });
}

const widthsOf = ({ overDistance }: SharpnessRecord): number[] =>
  [...overDistance.refocusedFieldWidthMm, ...overDistance.held.flatMap(({ fieldWidthMm }) => fieldWidthMm)].filter(
    (mm): mm is number => mm !== null && mm > 0,
  );

function titleOf(station: Station, { planes, breathingRatio, overDistance }: SharpnessRecord): string {
  const { task } = station;
  if (planes.length === 0 || breathingRatio === null) return 'No field over distance: no plane can be focused';
  const known = overDistance.refocusedFieldWidthMm.filter(
    (mm, i): mm is number =>
      mm !== null &&
      overDistance.workingDistancesMm[i]! >= task.nearMm &&
      overDistance.workingDistancesMm[i]! <= task.farMm,
  );
  const breathing = `refocusing changes the scale at one distance by up to ${withUnit(breathingRatio * 100, '%', 2)}`;
  if (known.length === 0) return `The task is out of reach; ${breathing}`;
  // Of the planes, as the ledger has it: the drawn line is sampled, and seldom just at the ends of the task.
  const widths = planes.map(({ magnification }) => sensorWidthMm(station) / Math.abs(magnification));
  const [least, most] = [Math.min(...widths), Math.max(...widths)];
  return `The field is ${formatNumber(least)}–${withUnit(most, 'mm')} wide, ${withUnit(task.fieldWidthMm, 'mm', 4)} needed; ${breathing}`;
}

const sensorWidthMm = ({ parts: { sensor } }: Station): number => mmFromUm(sensor.widthPx * sensor.pixelPitchUm);

function descriptionOf(station: Station, sharpness: SharpnessRecord): string {
  const each = sharpness.planes.map(
    ({ name, workingDistanceMm, magnification }) =>
      `${name} at ${withUnit(workingDistanceMm, 'mm', 4)}: magnification ${formatNumber(magnification)}`,
  );
  return `Width that the sensor sees over working distance for ${station.station}. ${titleOf(station, sharpness)}. ${each.join('; ')}. Lines of a held focus stand for blurred images too: their scale follows the chief ray.`;
}
