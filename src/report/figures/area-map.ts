import type { ScaleLinear } from 'd3-scale';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { leftAxis } from './axis.js';
import { areaColour } from './colour-scale.js';
import type { Plot } from './figure.js';

/** Steps of colour: more than an eye tells apart, few enough that runs of one colour are long. */
const colourSteps = 32;
/** Cells drawn at most each way; larger maps are thinned by means. */
const cellsMost = 150;

/** A map of values over a picture; NaN = no value. */
export interface AreaMap {
  columns: number;
  rows: number;
  values: Float32Array;
}

/**
 * The cells of a map as coloured areas, one path for each colour.
 *
 * Input    `plot` takes the whole map; `low` and `high` are the ends of the colours
 * Returns  cells without a value are hatched by the paper showing through a grey dot each
 */
export function areaMarks({ map, plot, low, high }: { map: AreaMap; plot: Plot; low: number; high: number }): Markup[] {
  const { columns, rows, values } = thinned(map);
  const cellX = (plot.rightPx - plot.leftPx) / columns;
  const cellY = (plot.bottomPx - plot.topPx) / rows;
  const paths: string[] = Array.from({ length: colourSteps }, () => '');
  const stepOf = (value: number) =>
    Number.isNaN(value)
      ? -1
      : Math.min(colourSteps - 1, Math.max(0, Math.floor(((value - low) / (high - low || 1)) * colourSteps)));
  for (let row = 0; row < rows; row++) {
    for (let from = 0; from < columns; ) {
      const step = stepOf(values[row * columns + from]!);
      let to = from + 1;
      while (to < columns && stepOf(values[row * columns + to]!) === step) to++;
      const [x, y] = [plot.leftPx + from * cellX, plot.topPx + row * cellY];
      if (step >= 0) {
        // A little over the cell's rim, so that no paper shines through between cells.
        const [w, h] = [(to - from) * cellX + 0.3, cellY + 0.3];
        paths[step] += `M${x.toFixed(1)} ${y.toFixed(1)}h${w.toFixed(1)}v${h.toFixed(1)}h${(-w).toFixed(1)}z`;
      }
      from = to;
    }
  }
  return [
    element('rect', {
      x: plot.leftPx,
      y: plot.topPx,
      width: plot.rightPx - plot.leftPx,
      height: plot.bottomPx - plot.topPx,
      fill: colour('required'),
    }),
    ...paths.flatMap((d, step) =>
      d === '' ? [] : [element('path', { d, fill: areaColour((step + 0.5) / colourSteps) })],
    ),
  ];
}

/** The colours beside the map, with numbers. `scale` runs from the bottom (low) to the top (high). */
export function colourBar({
  scale,
  xPx,
  plot,
}: {
  scale: ScaleLinear<number, number>;
  xPx: number;
  plot: Plot;
}): Markup {
  const heightPx = (plot.bottomPx - plot.topPx) / colourSteps;
  return element(
    'g',
    {},
    leftAxis({ scale, plot: { ...plot, leftPx: xPx, rightPx: xPx } }),
    Array.from({ length: colourSteps }, (_, step) =>
      element('rect', {
        x: xPx,
        y: plot.bottomPx - (step + 1) * heightPx,
        width: 14,
        height: heightPx + 0.3,
        fill: areaColour((step + 0.5) / colourSteps),
      }),
    ),
  );
}

function thinned(map: AreaMap): AreaMap {
  const factor = Math.ceil(Math.max(map.columns, map.rows) / cellsMost);
  if (factor === 1) return map;
  const [columns, rows] = [Math.floor(map.columns / factor), Math.floor(map.rows / factor)];
  const values = new Float32Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let [sum, known] = [0, 0];
      for (let y = 0; y < factor; y++) {
        for (let x = 0; x < factor; x++) {
          const value = map.values[(row * factor + y) * map.columns + column * factor + x]!;
          if (Number.isNaN(value)) continue;
          sum += value;
          known++;
        }
      }
      values[row * columns + column] = 2 * known > factor ** 2 ? sum / known : Number.NaN;
    }
  }
  return { columns, rows, values };
}
