import type { StarReading } from '../../image/index.js';
import { formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label } from './figure.js';

export interface StarInput {
  reading: Extract<StarReading, { kind: 'measured' }>;
}

/** Contrasts whose lines are drawn. */
const levels = [0.8, 0.5, 0.2] as const;
const dashes = [null, '7 3', '2 3'] as const;

/** Frequency up to which each direction keeps a contrast, as polar lines: round when no direction is preferred. */
export function starFigure({ reading }: StarInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { rings, sectorDirectionsDeg, astigmatism, mtf50PerPx } = reading;
  const [xPx, yPx] = [widthPx / 2, heightPx / 2 + 4];
  const lines = levels.map((level) => sectorDirectionsDeg.map((_, k) => frequencyAt(reading, k, level)));
  const most = Math.max(...lines.flat().map((value) => value ?? 0), 0.05);
  const top = Math.ceil(most * 20) / 20;
  const radius = Math.min(widthPx / 2 - 60, heightPx / 2 - 34);
  const place = (deg: number, frequency: number): [number, number] => [
    xPx + (radius * frequency * Math.cos((deg * Math.PI) / 180)) / top,
    yPx + (radius * frequency * Math.sin((deg * Math.PI) / 180)) / top,
  ];
  const step = top > 0.25 ? 0.1 : 0.05;
  const circles: Markup[] = [];
  for (let f = step; f <= top + 1e-9; f += step) {
    circles.push(
      element('circle', { cx: xPx, cy: yPx, r: (radius * f) / top, fill: 'none', stroke: colour('rule') }),
      label(formatNumber(f, 2), { xPx: xPx + 3, yPx: yPx - (radius * f) / top - 3 }, { soft: true, sizePx: 11 }),
    );
  }
  const spokes = sectorDirectionsDeg.map((deg) => {
    const [x2, y2] = place(deg, top);
    return element('line', { x1: xPx, y1: yPx, x2, y2, stroke: colour('rule') });
  });
  const drawn = lines.flatMap((values, i) => {
    const points = values.map((value, k) => (value === null ? null : place(sectorDirectionsDeg[k]!, value)));
    if (points.includes(null)) return [];
    const known = points as [number, number][];
    const d = `M${known.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join('L')}Z`;
    const [lx, ly] = known[1]!;
    return [
      element('path', {
        d,
        fill: 'none',
        stroke: colour('measured'),
        'stroke-width': 1.8,
        'stroke-dasharray': dashes[i],
      }),
      ...known.map(([cx, cy]) => element('circle', { cx, cy, r: 3, fill: colour('measured') })),
      label(`contrast ${levels[i]}`, { xPx: lx + 7, yPx: ly + 12 }),
    ];
  });
  const title = astigmatism
    ? `Contrast one half at ${withUnit(astigmatism.softestMtf50PerPx, 'cycles/px')} to ${withUnit(astigmatism.sharpestMtf50PerPx, 'cycles/px')}, depending on direction`
    : mtf50PerPx === null
      ? 'The star keeps more than half its contrast up to its finest ring'
      : `Contrast one half at ${withUnit(mtf50PerPx, 'cycles/px')}`;
  const each = lines[1]!.map(
    (value, k) => `${sectorDirectionsDeg[k]}°: ${value === null ? 'not reached' : formatNumber(value)}`,
  );
  return figureOf({
    title,
    description: `Star of ${reading.cycles} cycles, ${rings.length} rings. Frequency in cycles per pixel at contrast 0.5 by the direction of modulation, clockwise from the right: ${each.join('; ')}.`,
    size: { widthPx, heightPx },
    body: [
      label('Frequency by direction of modulation, cycles/px', { xPx: 4, yPx: 15 }),
      ...spokes,
      ...circles,
      ...drawn,
      label('→ along rows', { xPx: Math.min(widthPx - 90, xPx + radius + 6), yPx: yPx + 16 }, { soft: true }),
    ],
  });
}

/** Where a direction of modulation falls to a contrast; detail modulated along `k` lies in the sectors at right angles to it. */
function frequencyAt({ rings, sectorDirectionsDeg }: StarInput['reading'], k: number, level: number): number | null {
  const count = sectorDirectionsDeg.length;
  const [a, b] = [(k + count / 4) % count, (k + (3 * count) / 4) % count];
  const of = (i: number) => (rings[i]!.sectorMtf[a]! + rings[i]!.sectorMtf[b]!) / 2;
  const at = rings.findIndex((_, i) => of(i) < level);
  if (at <= 0) return null;
  const share = (of(at - 1) - level) / (of(at - 1) - of(at));
  return rings[at - 1]!.frequencyPerPx + share * (rings[at]!.frequencyPerPx - rings[at - 1]!.frequencyPerPx);
}
