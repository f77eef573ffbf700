import {
  distortionMapFigure,
  estimateInWords,
  type Figure,
  type FigureSize,
  formatNumber,
  frameContrastFigure,
  starFigure,
  withUnit,
} from '../../report/index.js';
import type { MeasureResult } from './measure-order.js';
import type { FramePrediction } from './prediction.js';

/** Every second hundredth of a cycle is drawn: dots that can be told apart. */
const drawnEvery = 2;

/** The figure of a result; null where numbers say it all, or where it was refused. */
export function measureFigure(
  result: MeasureResult,
  { about, widthPx, heightPx }: { about: FramePrediction; widthPx: number; heightPx: number },
): ((size: FigureSize) => Figure) | null {
  const { mtf, taskFrequencyPerPx, mtf50PerPx, station } = about;
  const task =
    taskFrequencyPerPx === null
      ? null
      : { frequencyPerPx: taskFrequencyPerPx, contrastNeeded: station.task.contrastNeeded };
  if (result.what === 'edge' && result.reading.kind === 'measured') {
    const read = result.reading;
    const found =
      read.mtf50PerPx === null
        ? 'The contrast stays above one half'
        : `Contrast one half at ${estimateInWords({ value: read.mtf50PerPx, std: read.mtf50StdPerPx }, 'cycles/px')}`;
    const title = `${found}${mtf50PerPx === null ? '' : `; predicted ${withUnit(mtf50PerPx, 'cycles/px')}`}`;
    const points = read.mtf.filter((_, i) => i % drawnEvery === 0);
    return (size) =>
      frameContrastFigure(
        {
          title,
          quantity: 'MTF',
          series: [{ name: 'measured ±2σ', points, band: true }],
          predicted: mtf,
          predictedName: 'predicted',
          task,
          criterionContrast: null,
        },
        size,
      );
  }
  if (result.what === 'bars' && result.reading.kind === 'measured') {
    const { elements, lastResolved, criterion } = result.reading;
    const last = lastResolved.joint;
    const series = (['horizontal', 'vertical'] as const).map((way) => ({
      name: way === 'horizontal' ? '● horizontal bars' : '○ vertical bars',
      open: way === 'vertical',
      points: elements
        .filter(({ barsRun }) => barsRun === way)
        .map(({ nominalBarWidthPx, contrast, contrastStd }) => ({
          frequencyPerPx: 1 / (2 * nominalBarWidthPx),
          value: contrast,
          std: contrastStd,
        })),
    }));
    const title = last
      ? `Resolved both ways up to group ${last.group} element ${last.element}, ${withUnit(last.lpPerMm, 'lp/mm')}`
      : 'No element is resolved both ways';
    return (size) =>
      frameContrastFigure(
        {
          title,
          quantity: 'Contrast',
          series,
          predicted: mtf,
          predictedName: 'predicted for a sine',
          task,
          criterionContrast: criterion.modulation,
        },
        size,
      );
  }
  if (result.what === 'star' && result.reading.kind === 'measured') {
    const reading = result.reading;
    return (size) => starFigure({ reading }, size);
  }
  if (result.what === 'grid' && result.reading.kind === 'measured') {
    const reading = result.reading;
    return (size) => distortionMapFigure({ reading, widthPx, heightPx }, size);
  }
  return null;
}

/** The finding of a result in one line, for the heading. */
export function measureFinding(result: MeasureResult): string | null {
  const { reading } = result;
  if (reading.kind === 'refused') return null;
  if (result.what === 'focus' && result.reading.kind === 'measured')
    return `${result.reading.values.length} focus measures of the region`;
  if (result.what === 'noise' && result.reading.kind === 'measured')
    return `A pixel’s noise is ${formatNumber(Math.sqrt(result.reading.temporalVarianceDn2))} DN at a mean of ${formatNumber(result.reading.meanDn)} DN`;
  return null;
}
