import type { ScaleOverPower } from '../../image/index.js';
import { estimateInWords, sharePercent } from '../format-number.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, type Plot } from './figure.js';
import { clippedTo, measuredDot, type Point, polyline } from './marks.js';
import { drawLabels, placeLabels } from './place-labels.js';

export interface ScaleOverPowerInput {
  change: Extract<ScaleOverPower, { kind: 'measured' }>;
  points: readonly {
    focalPowerDpt: number;
    pixelMm: number | null;
    pixelStdMm: number | null;
    predictedPixelMm: number | null;
  }[];
}

/** Size of a pixel on a target at rest over focal power: measured dots with their line, and the predicted line. */
export function scaleOverPowerFigure({ change, points }: ScaleOverPowerInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const sorted = [...points].sort((a, b) => a.focalPowerDpt - b.focalPowerDpt);
  const plot: Plot = { leftPx: 0, rightPx: widthPx - 12, topPx: titleRoomPx, bottomPx: heightPx - bottomRoomPx };
  const y = scaleOver(
    sorted.flatMap(({ pixelMm, predictedPixelMm }) => [pixelMm, predictedPixelMm]),
    [plot.bottomPx, plot.topPx],
  );
  plot.leftPx = axisRoomPx(y, plot.bottomPx - plot.topPx);
  const x = scaleOver(
    sorted.map(({ focalPowerDpt }) => focalPowerDpt),
    [plot.leftPx, plot.rightPx],
  );
  const fitted = [sorted[0]!, sorted.at(-1)!].map(({ focalPowerDpt }): Point => {
    const mm = change.pixelMm.value + change.pixelMmPerDpt.value * (focalPowerDpt - change.meanPowerDpt);
    return [x(focalPowerDpt), y(mm)];
  });
  const predicted = sorted.flatMap(({ focalPowerDpt, predictedPixelMm }): Point[] =>
    predictedPixelMm === null ? [] : [[x(focalPowerDpt), y(predictedPixelMm)]],
  );
  const dots = sorted.flatMap(({ focalPowerDpt, pixelMm, pixelStdMm }) =>
    pixelMm === null ? [] : [{ at: [x(focalPowerDpt), y(pixelMm)] as Point, value: pixelMm, std: pixelStdMm ?? 0 }],
  );
  const named = dots[Math.floor(dots.length / 3)];
  const onLine = predicted[Math.floor((2 * predicted.length) / 3)];
  const labels = placeLabels({
    wishes: [
      ...(named ? [{ text: 'measured ±1σ', xPx: named.at[0], yPx: named.at[1], prefer: 'right' as const }] : []),
      ...(onLine ? [{ text: 'predicted', xPx: onLine[0], yPx: onLine[1], prefer: 'right' as const }] : []),
    ],
    bounds: plot,
    obstacles: [...dots.map(({ at }) => at), ...predicted].map(([px, py]) => ({
      leftPx: px - 4,
      rightPx: px + 4,
      topPx: py - 6,
      bottomPx: py + 6,
    })),
  });
  const percent = { value: 100 * change.relativePerDpt.value, std: 100 * (change.relativePerDpt.std ?? 0) };
  const title = `The scale changes by ${estimateInWords(percent, '%')} per dioptre of focal power`;
  return figureOf({
    title,
    description: `${title}; a pixel is ${estimateInWords(change.pixelMm, 'mm')} at ${change.meanPowerDpt.toFixed(3)} dpt. ${dots.length} frames; the points scatter by ${sharePercent(change.residualRmsMm / change.pixelMm.value)} about a straight line${predicted.length > 0 ? ', beside the line that the station predicts' : ''}.`,
    size: { widthPx, heightPx },
    body: [
      leftAxis({ scale: y, plot, title: 'A pixel on the target, mm' }),
      bottomAxis({ scale: x, plot, title: 'Focal power, dpt' }),
      clippedTo(
        plot,
        polyline(fitted, { meaning: 'measured', dash: '2 3', widthPx: 1.2 }),
        polyline(predicted, { meaning: 'predicted' }),
      ),
      dots.map(({ at, value, std }) => measuredDot(at, { y, value, halfBar: std })),
      ...drawLabels(labels),
    ],
  });
}
