import { scaleLinear } from 'd3-scale';
import type { PlaneSharpness, SharpnessRecord, Station } from '../../station/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { axisRoomPx, bottomRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, textWidthPx } from './figure.js';
import { linePlot, type PlottedLine, plotHeading } from './line-plot.js';

export interface MtfCurvesInput {
  station: Station;
  sharpness: SharpnessRecord;
}

const panelTopPx = 26;
const panelPx = 190;
const gapPx = 40;
/** Curves nearer than this, in contrast, are named together. */
const together = 0.04;

/**
 * MTF against frequency in focus, a panel each for the nearest, a middle and the farthest plane: centre and corner, with
 * the task's frequency and the contrast that it needs there.
 *
 * Returns  higher than asked where the panels stand one below the other.
 */
export function mtfCurvesFigure({ station, sharpness }: MtfCurvesInput, size: FigureSize): Figure {
  const asked = drawableSize(size);
  const planes = outerAndMiddle(sharpness.planes);
  const count = Math.max(1, planes.length);
  const sideBySide = asked.widthPx >= count * 210;
  const heightPx = Math.max(
    asked.heightPx,
    sideBySide ? panelTopPx + 120 + bottomRoomPx : count * (panelTopPx + panelPx) + bottomRoomPx,
  );
  const firstLeftPx = axisRoomPx(contrastScale([heightPx, 0]), 150);
  const plots = planes.map((_, i): Plot => {
    if (!sideBySide) {
      const topPx = panelTopPx + i * (panelTopPx + panelPx);
      return { leftPx: firstLeftPx, rightPx: asked.widthPx - 10, topPx, bottomPx: topPx + panelPx };
    }
    const width = (asked.widthPx - 10 - firstLeftPx - (count - 1) * gapPx) / count;
    const leftPx = firstLeftPx + i * (width + gapPx);
    return { leftPx, rightPx: leftPx + width, topPx: panelTopPx, bottomPx: heightPx - bottomRoomPx };
  });
  const body =
    planes.length === 0
      ? [label('No plane can be focused: see the rows on reach.', { xPx: 8, yPx: 30 }, { soft: true })]
      : planes.map((plane, i) =>
          panel({ station, sharpness, plane, plot: plots[i]!, axis: sideBySide || i === count - 1 }),
        );
  return figureOf({
    title: titleOf(station, sharpness),
    description: descriptionOf(station, sharpness),
    size: { widthPx: asked.widthPx, heightPx },
    body: body.flat(),
  });
}

/** At most three: nearest, a middle one, farthest. */
export function outerAndMiddle<T extends { workingDistanceMm: number }>(planes: readonly T[]): T[] {
  const sorted = [...planes].sort((a, b) => a.workingDistanceMm - b.workingDistanceMm);
  return sorted.length <= 3 ? sorted : [sorted[0]!, sorted[(sorted.length - 1) >> 1]!, sorted[sorted.length - 1]!];
}

const contrastScale = (range: readonly [number, number]) => scaleLinear().domain([0, 1]).range(range);

function panel({
  station,
  sharpness,
  plane,
  plot,
  axis,
}: {
  station: Station;
  sharpness: SharpnessRecord;
  plane: PlaneSharpness;
  plot: Plot;
  axis: boolean;
}) {
  const x = scaleLinear().domain([0, 0.5]).range([plot.leftPx, plot.rightPx]);
  const { mtfCurves, taskFrequencyPerPx, mtfAtTask, cornerMtfAtTask, name, workingDistanceMm } = plane;
  const curve = (values: readonly number[]) => sharpness.frequenciesPerPx.map((f, i) => [f, values[i]!] as const);
  const apart = (a: readonly number[], b: readonly number[]) =>
    a.some((value, i) => Math.abs(value - b[i]!) > together);
  const inPicture = taskFrequencyPerPx <= 0.5;
  // Over the curve, on the wider side of the task frequency.
  const freeShare = taskFrequencyPerPx < 0.25 ? taskFrequencyPerPx + 0.5 : Math.min(0.5, taskFrequencyPerPx);
  const acrossApart = apart(mtfCurves.centre, mtfCurves.cornerTangential);
  const alongApart = apart(mtfCurves.centre, mtfCurves.cornerSagittal);
  const centreName = acrossApart && alongApart ? 'centre' : acrossApart ? 'centre; corner along' : 'centre and corner';
  const lines: PlottedLine[] = [
    { points: curve(mtfCurves.centre), name: centreName, nameShare: freeShare, prefer: 'above' },
    {
      points: curve(mtfCurves.cornerTangential),
      name: acrossApart ? 'corner across' : null,
      nameShare: 0.75,
      dash: '7 3',
      widthPx: 1.3,
      prefer: 'left',
    },
    {
      points: curve(mtfCurves.cornerSagittal),
      name: alongApart ? 'corner along' : null,
      nameShare: 0.9,
      dash: '2 3',
      widthPx: 1.3,
      prefer: 'left',
    },
  ];
  const { contrastNeeded } = station.task;
  return [
    plotHeading(
      [
        `${name} ${withUnit(workingDistanceMm, 'mm', 4)}: ${formatFixed(mtfAtTask, 2)}, corner ${formatFixed(cornerMtfAtTask, 2)}`,
        `${name}: ${formatFixed(mtfAtTask, 2)}, corner ${formatFixed(cornerMtfAtTask, 2)}`,
        name,
      ],
      plot,
      (text) => textWidthPx(text) < plot.rightPx - plot.leftPx,
    ),
    ...linePlot({
      plot,
      x,
      y: contrastScale([plot.bottomPx, plot.topPx]),
      lines,
      required: {
        x: [0, Math.min(0.5, taskFrequencyPerPx)],
        y: [contrastNeeded, 1],
        edges: inPicture ? ['bottom', 'right'] : ['bottom'],
        name: `needed ${formatNumber(contrastNeeded)}`,
      },
      axes: { x: axis ? 'Frequency, cycles per pixel' : null, y: null },
      marks: inPicture ? [{ at: [taskFrequencyPerPx, mtfAtTask], text: 'task' }] : [],
    }),
  ];
}

function titleOf({ task }: Station, { planes }: SharpnessRecord): string {
  const places = planes.flatMap((plane) => [
    { where: `at ${plane.name}`, value: plane.mtfAtTask },
    { where: `in the corner at ${plane.name}`, value: plane.cornerMtfAtTask },
  ]);
  if (places.length === 0) return 'No contrast to draw: no plane can be focused';
  const least = places.reduce((a, b) => (b.value < a.value ? b : a));
  const needed = formatNumber(task.contrastNeeded);
  const beyond = planes.find(({ taskFrequencyPerPx }) => taskFrequencyPerPx > 0.5);
  if (beyond) return `The smallest feature is finer than the pixels can sample at ${beyond.name}`;
  return least.value >= task.contrastNeeded
    ? `Smallest feature: contrast is at least ${formatFixed(least.value, 2)}, ${least.where}; ${needed} is needed`
    : `Smallest feature: contrast falls to ${formatFixed(least.value, 2)} ${least.where}; ${needed} is needed`;
}

function descriptionOf({ station, task }: Station, { planes, threeBarCriterion }: SharpnessRecord): string {
  const each = planes.map(({ name, mtfAtTask, cornerMtfAtTask, taskFrequencyPerPx, finestCentre, threeBar }) => {
    const finest = finestCentre
      ? `, finest period ${withUnit(finestCentre.objectPeriodUm, 'µm')} on the object (ended by ${finestCentre.limitedBy})`
      : ', no pattern has the contrast';
    const bars = threeBar ? `, three-bar group ${threeBar.group} element ${threeBar.element}` : '';
    return `${name}: ${formatFixed(mtfAtTask, 2)} in the centre and ${formatFixed(cornerMtfAtTask, 2)} in the corner at ${formatNumber(taskFrequencyPerPx)} cycles per pixel${finest}${bars}`;
  });
  return `MTF in focus against frequency for ${station}, in the corner for lines across the radius and along it; a contrast of ${formatNumber(task.contrastNeeded)} is needed up to the task frequency. ${each.join('. ')}. Three bars count as resolved by this: ${threeBarCriterion}. The corner is an upper bound: field curvature, astigmatism and lateral colour are left out.`;
}
