import { scaleLinear } from 'd3-scale';
import type { FocusTilt, HeightMap } from '../../image/index.js';
import { formatNumber, sharePercent, withUnit } from '../format-number.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { areaMarks, colourBar } from './area-map.js';
import { axisRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot } from './figure.js';

export interface HeightMapInput {
  heights: HeightMap;
  /** Draws the fitted plane's lines of equal height over the map. */
  tilt?: FocusTilt;
}

/** Heights over the picture as colours, with their scale; places without a height stay grey. */
export function heightMapFigure({ heights, tilt }: HeightMapInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { columns, rows, heightsMm, summary } = heights;
  const [topPx, bottomLimitPx] = [24, heightPx - 22];
  const { low, high } = shownRange(heightsMm);
  const barScale = scaleLinear().domain([low, high]).range([bottomLimitPx, topPx]);
  const barRoomPx = axisRoomPx(barScale, bottomLimitPx - topPx) + 18;
  const room = widthPx - 8 - barRoomPx - 12;
  const cellPx = Math.min(room / columns, (bottomLimitPx - topPx) / rows);
  const plot: Plot = { leftPx: 4, rightPx: 4 + cellPx * columns, topPx, bottomPx: topPx + cellPx * rows };
  const scale = scaleLinear().domain([low, high]).range([plot.bottomPx, plot.topPx]);
  const barPx = plot.rightPx + barRoomPx - 8;
  const plane = tilt?.kind === 'measured' ? planeLines(tilt, plot) : [];
  return figureOf({
    title: titleOf(heights, tilt),
    description: `Map of ${columns} × ${rows} heights, one every ${heights.stepPx} px: from ${withUnit(summary.minMm, 'mm')} to ${withUnit(summary.maxMm, 'mm')} about ${withUnit(heights.zeroWorkingDistanceMm, 'mm', 5)} working distance; ${sharePercent(summary.validFraction)} have a height, the grey places have none. Stated standard uncertainty ${withUnit(summary.uncertaintyRmsMm, 'mm')} rms; depth of field ${withUnit(heights.depthOfFieldMm, 'mm')}.`,
    size: { widthPx, heightPx },
    body: [
      label('Height towards the lens, mm', { xPx: 4, yPx: topPx - 9 }),
      ...areaMarks({ map: { columns, rows, values: heightsMm }, plot, low, high }),
      ...plane,
      colourBar({ scale, xPx: barPx, plot }),
      label(
        `grey: no height (${sharePercent(1 - summary.validFraction)})`,
        { xPx: 4, yPx: plot.bottomPx + 16 },
        { soft: true },
      ),
    ],
  });
}

/** From the 0.5th to the 99.5th percentile, so that single outliers do not take the colours. */
function shownRange(heightsMm: Float32Array): { low: number; high: number } {
  const known = heightsMm.filter((height) => !Number.isNaN(height)).sort();
  if (known.length === 0) return { low: 0, high: 1 };
  const at = (share: number) => known[Math.round(share * (known.length - 1))]!;
  const [low, high] = [at(0.005), at(0.995)];
  return high > low ? { low, high } : { low: low - 0.5, high: high + 0.5 };
}

function titleOf({ summary, depthOfFieldMm }: HeightMap, tilt: FocusTilt | undefined): string {
  if (tilt?.kind === 'measured') {
    const within = tilt.depthShare < 1 ? 'inside' : 'more than';
    return `The plane of focus leans ${formatNumber(tilt.tiltXDeg.value)}° to the right and ${formatNumber(tilt.tiltYDeg.value)}° downwards: ${withUnit(tilt.acrossFieldMm, 'mm')} across the field, ${within} the depth of field of ${withUnit(depthOfFieldMm, 'mm')}`;
  }
  return `Heights over ${withUnit(summary.maxMm - summary.minMm, 'mm')} with ${withUnit(summary.uncertaintyRmsMm, 'mm')} uncertainty, in ${sharePercent(summary.validFraction)} of the picture`;
}

/** An arrow through the middle towards where the plane lies farther. */
function planeLines(tilt: Extract<FocusTilt, { kind: 'measured' }>, plot: Plot) {
  const [a, b] = [tilt.tiltXDeg.value, tilt.tiltYDeg.value];
  const size = Math.hypot(a, b);
  if (size === 0) return [];
  const [ux, uy] = [a / size, b / size];
  const [mx, my] = [(plot.leftPx + plot.rightPx) / 2, (plot.topPx + plot.bottomPx) / 2];
  const reach = 0.3 * Math.min(plot.rightPx - plot.leftPx, plot.bottomPx - plot.topPx);
  const [x2, y2] = [mx + ux * reach, my + uy * reach];
  const head = (turn: number) =>
    `${x2 - 12 * (ux * Math.cos(turn) - uy * Math.sin(turn))} ${y2 - 12 * (uy * Math.cos(turn) + ux * Math.sin(turn))}`;
  const d = `M${mx - ux * reach} ${my - uy * reach}L${x2} ${y2}M${head(0.4)}L${x2} ${y2}L${head(-0.4)}`;
  return [
    element('path', { d, fill: 'none', stroke: colour('paper'), 'stroke-width': 5 }),
    element('path', { d, fill: 'none', stroke: colour('ink'), 'stroke-width': 2 }),
    label('farther', { xPx: x2 + 8 * ux, yPx: y2 + 8 * uy + 4 }, { anchor: ux < -0.3 ? 'end' : 'start' }),
  ];
}
