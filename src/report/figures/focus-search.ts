import { counted } from '../../base/index.js';
import type { FocusPosterior, FocusProbe } from '../../station/index.js';
import { formatFixed, withUnit } from '../format-number.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, smallFontPx } from './figure.js';
import { measuredDot, polyline, requiredBand, tintedBand } from './marks.js';

/** A search for focus after some of its frames. */
export interface FocusSearchInput {
  /** Name of the search. */
  method: string;
  probes: readonly FocusProbe[];
  posterior: FocusPosterior | null;
  powerMinDpt: number;
  powerMaxDpt: number;
  /** null: not ended. */
  result:
    | { kind: 'found'; focalPowerDpt: number; focalPowerStdDpt: number; halfWidthDpt: number | null }
    | { kind: 'refused'; message: string }
    | null;
}

/**
 * A search as it goes: sharpness of its frames in their order over focal power (dots), where best focus is likely after them
 * (tinted), and best focus with half of the depth of field either way.
 */
export function focusSearchFigure(input: FocusSearchInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { probes, posterior, result, powerMinDpt, powerMaxDpt } = input;
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const highest = Math.max(...probes.map(({ measure }) => measure), 1e-12);
  const y = scaleOver([0, 1.12], [bottomPx, topPx], { padding: 0 });
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 14, topPx, bottomPx };
  const x = scaleOver([powerMinDpt, powerMaxDpt], [plot.leftPx, plot.rightPx], { padding: 0.03 });
  const found = result?.kind === 'found' ? result : null;
  const half = found?.halfWidthDpt ? found.halfWidthDpt / 2 : null;
  const densest = Math.max(...(posterior?.densitiesPerDpt ?? []), 1e-300);
  const likely = (posterior?.focalPowersDpt ?? []).map(
    (powerDpt, i) => [x(powerDpt), y(posterior!.densitiesPerDpt[i]! / densest)] as const,
  );
  const body = [
    found && half !== null
      ? requiredBand({
          x1Px: x(found.focalPowerDpt - half),
          x2Px: x(found.focalPowerDpt + half),
          y1Px: plot.topPx,
          y2Px: plot.bottomPx,
          edges: 'left-right',
        })
      : null,
    leftAxis({ scale: y, plot, title: 'Sharpness, relative' }),
    bottomAxis({ scale: x, plot, title: 'Focal power, dpt' }),
    tintedBand(
      likely,
      likely.map(([xPx]) => [xPx, plot.bottomPx] as const),
      'predicted',
    ),
    polyline(likely, { meaning: 'predicted', widthPx: 1.4 }),
    found &&
      polyline(
        [
          [x(found.focalPowerDpt), plot.topPx],
          [x(found.focalPowerDpt), plot.bottomPx],
        ],
        { meaning: 'measured', widthPx: 1.2, dash: '5 4' },
      ),
    ...probes.flatMap(({ focalPowerDpt, measure, measureStd }, i) => {
      const [xPx, value] = [x(focalPowerDpt), measure / highest];
      return [
        measuredDot([xPx, y(value)], { y, value, halfBar: measureStd === null ? null : measureStd / highest }),
        probes.length <= 12
          ? label(String(i + 1), { xPx, yPx: y(value) - 9 }, { anchor: 'middle', sizePx: smallFontPx })
          : null,
      ];
    }),
  ];
  return figureOf({ title: titleOf(input), description: descriptionOf(input), size: { widthPx, heightPx }, body });
}

function titleOf({ method, probes, result }: FocusSearchInput): string {
  const count = counted(probes.length, 'frame');
  if (result === null) return `${method} after ${count}`;
  if (result.kind === 'refused') return `${method} refuses after ${count}: ${result.message}`;
  const { focalPowerDpt, focalPowerStdDpt } = result;
  return `${method} finds ${formatFixed(focalPowerDpt, 3)} ± ${withUnit(focalPowerStdDpt, 'dpt', 2)} with ${count}`;
}

const descriptionOf = ({ probes, posterior }: FocusSearchInput): string =>
  `Sharpness over focal power in the order of the frames: ${probes
    .map(
      ({ focalPowerDpt, role }) => `${formatFixed(focalPowerDpt, 3)} dpt${role === 'confirm' ? ' (confirming)' : ''}`,
    )
    .join(', ')}.${posterior ? ' Tinted: where best focus is likely after these frames.' : ''}`;
