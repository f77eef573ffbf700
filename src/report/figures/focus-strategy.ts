import { scaleLinear } from 'd3-scale';
import { shareStd } from '../../base/index.js';
import type { FocusMethodScore, FocusStrategyRecord } from '../../station/index.js';
import { formatNumber, sharePercent, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomRoomPx, type LinearScale, leftAxis, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, smallFontPx } from './figure.js';
import { clippedTo, measuredDot, polyline, requiredBand } from './marks.js';
import { drawLabels, placeLabels } from './place-labels.js';

export interface FocusStrategyInput {
  strategy: FocusStrategyRecord;
}

/** Share of runs that have to end in focus. */
const wanted = 0.95;
const dashes = [undefined, '7 3', '2 3', '9 3 2 3', '4 2'] as const;
/** Dots of several methods at one level stand beside each other. */
const besidePx = 7;

/**
 * Share of runs that end in focus over the light: the best that any search could do (line), and every method on the simulated
 * station (dots with one standard deviation).
 */
export function focusStrategyFigure({ strategy }: FocusStrategyInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { prediction, methods } = strategy;
  const levels = prediction?.byLight.map(({ meanLevelDn }) => meanLevelDn) ?? [];
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const y = scaleLinear().domain([0, 102]).range([bottomPx, topPx]);
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 14, topPx, bottomPx };
  const xOf = (level: number) =>
    scaleLinear()
      .domain([Math.log2(levels[0]!) - 0.4, Math.log2(levels.at(-1)!) + 0.9])
      .range([plot.leftPx, plot.rightPx])(Math.log2(level));
  const body =
    prediction === null || levels.length === 0
      ? [label('No plane of the task can be focused.', { xPx: 8, yPx: 30 }, { soft: true })]
      : [
          requiredBand({
            x1Px: plot.leftPx,
            x2Px: plot.rightPx,
            y1Px: y(100 * wanted),
            y2Px: y(102),
            edges: 'top-bottom',
          }),
          leftAxis({ scale: y, plot, title: 'Runs that end in focus, %' }),
          levelAxis(levels, xOf, plot),
          polyline(
            prediction.byLight.map(({ meanLevelDn, insideProbability }) => [
              xOf(meanLevelDn),
              y(100 * insideProbability),
            ]),
            { meaning: 'predicted', widthPx: 2.2 },
          ),
          clippedTo(plot, ...methods.flatMap((score, i) => methodMarks(score, i, methods.length, { xOf, y }))),
          ...drawLabels(
            placeLabels({
              wishes: [
                ...methods.map((score, i) => {
                  const last = score.byLight[Math.max(0, score.byLight.length - 1 - (i % 2))]!;
                  return {
                    text: score.method,
                    xPx: xOf(last.meanLevelDn) + besidePx * i,
                    yPx: y((100 * last.rightCount) / last.sceneCount),
                    prefer: 'below' as const,
                  };
                }),
                {
                  text: 'predicted bound',
                  xPx: xOf(prediction.byLight[0]!.meanLevelDn),
                  yPx: y(100 * prediction.byLight[0]!.insideProbability),
                  prefer: 'below' as const,
                  soft: true,
                },
              ],
              bounds: plot,
              obstacles: methods.flatMap((score, i) =>
                score.byLight.map(({ meanLevelDn, rightCount, sceneCount }) => {
                  const [cx, cy] = [xOf(meanLevelDn) + besidePx * i, y((100 * rightCount) / sceneCount)];
                  return { leftPx: cx - 5, rightPx: cx + 5, topPx: cy - 6, bottomPx: cy + 6 };
                }),
              ),
            }),
          ),
        ];
  return figureOf({
    title: titleOf(strategy),
    description: descriptionOf(strategy),
    size: { widthPx, heightPx },
    body,
  });
}

function methodMarks(
  { byLight }: FocusMethodScore,
  index: number,
  count: number,
  { xOf, y }: { xOf: (level: number) => number; y: LinearScale },
): (Markup | null)[] {
  const placed = byLight.map((at) => ({
    ...at,
    xPx: xOf(at.meanLevelDn) + besidePx * (index - (count - 1) / 2),
    share: at.rightCount / at.sceneCount,
  }));
  return [
    polyline(
      placed.map(({ xPx, share }) => [xPx, y(100 * share)] as const),
      { meaning: 'measured', widthPx: 1, ...(dashes[index] && { dash: dashes[index] }) },
    ),
    ...placed.map(({ xPx, share, rightCount, sceneCount }) =>
      measuredDot([xPx, y(100 * share)], {
        y,
        value: 100 * share,
        halfBar: 100 * shareStd({ count: rightCount, ofCount: sceneCount }),
      }),
    ),
  ];
}

function levelAxis(levels: readonly number[], xOf: (level: number) => number, plot: Plot): Markup {
  const y = plot.bottomPx;
  return element(
    'g',
    {},
    element('line', { x1: plot.leftPx, x2: plot.rightPx, y1: y, y2: y, stroke: colour('ink') }),
    levels.map((level) => [
      element('line', { x1: xOf(level), x2: xOf(level), y1: y, y2: y + 5, stroke: colour('ink') }),
      label(
        formatNumber(level),
        { xPx: xOf(level), yPx: y + 17 },
        { anchor: 'middle', soft: true, sizePx: smallFontPx },
      ),
    ]),
    label(
      'Mean grey level of the texture, of 255',
      { xPx: (plot.leftPx + plot.rightPx) / 2, yPx: y + 33 },
      { anchor: 'middle' },
    ),
  );
}

const shareOf = ({ rightCount, sceneCount }: { rightCount: number; sceneCount: number }) =>
  sharePercent(rightCount / sceneCount);

function titleOf({ prediction, methods, sceneCount }: FocusStrategyRecord): string {
  if (prediction === null) return 'No search can focus: no plane of the task can be focused';
  const best = [...methods].sort((a, b) => b.rightCount - a.rightCount || a.medianFrameCount - b.medianFrameCount)[0];
  const bound = `at best ${sharePercent(prediction.own.insideProbability)} of runs end in focus in the station’s own light`;
  return best
    ? `${best.method} is right in ${shareOf(best)} of ${sceneCount} simulated scenes with ${best.medianFrameCount} frames; ${bound}`
    : `${bound[0]!.toUpperCase()}${bound.slice(1)}`;
}

function descriptionOf({ station, prediction, methods }: FocusStrategyRecord): string {
  const bound = prediction?.byLight
    .map(({ meanLevelDn, insideProbability }) => `${formatNumber(meanLevelDn)}: ${sharePercent(insideProbability)}`)
    .join(', ');
  const each = methods.map(
    (score) =>
      `${score.method}: ${score.byLight.map((at) => `${formatNumber(at.meanLevelDn)}: ${shareOf(at)}`).join(', ')}; ${score.medianFrameCount} frames, ${withUnit(score.timeMedianMs, 'ms')}`,
  );
  return `Share of runs that end in focus over the mean grey level for ${station}. Predicted bound ${bound ?? 'none'}. ${each.join('. ')}`;
}
