import type { GridReading } from '../../image/index.js';
import { withUnit } from '../format-number.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label } from './figure.js';

export interface DistortionMapInput {
  reading: Extract<GridReading, { kind: 'measured' }>;
  /** Size of the picture that was measured. */
  widthPx: number;
  heightPx: number;
}

/** Where each point of the grid was found (dots), and by how much distortion moved it, enlarged (lines). */
export function distortionMapFigure({ reading, ...frame }: DistortionMapInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const [leftPx, topPx] = [6, 26];
  const scale = Math.min((widthPx - 2 * leftPx) / frame.widthPx, (heightPx - topPx - 26) / frame.heightPx);
  const place = (x: number, y: number): [number, number] => [leftPx + (x + 0.5) * scale, topPx + (y + 0.5) * scale];
  const { distortionK1, distortionK2, distortionCentreXPx, distortionCentreYPx, unitRadiusPx } = reading;
  const [cx, cy] = [distortionCentreXPx.value, distortionCentreYPx.value];
  const [k1, k2] = [distortionK1.value, distortionK2?.value ?? 0];
  const moved = reading.points.map(({ xPx, yPx }) => {
    const [dx, dy] = [xPx - cx, yPx - cy];
    let stretch = 1;
    for (let pass = 0; pass < 20; pass++) {
      const r2 = (dx * dx + dy * dy) / (stretch * unitRadiusPx) ** 2;
      stretch = 1 + k1 * r2 + k2 * r2 * r2;
    }
    return { xPx, yPx, byX: dx - dx / stretch, byY: dy - dy / stretch };
  });
  const most = Math.max(...moved.map(({ byX, byY }) => Math.hypot(byX, byY)), 1e-9);
  const enlarged = roundDown((0.06 * frame.widthPx) / most);
  const corner = reading.cornerDistortionFraction;
  const marks = moved.flatMap(({ xPx, yPx, byX, byY }) => {
    const [x, y] = place(xPx, yPx);
    const [x1, y1] = place(xPx - enlarged * byX, yPx - enlarged * byY);
    return [
      element('line', { x1, y1, x2: x, y2: y, stroke: colour('predicted'), 'stroke-width': 1.4 }),
      element('circle', { cx: x, cy: y, r: 2, fill: colour('measured') }),
    ];
  });
  const [mx, my] = place(cx, cy);
  return figureOf({
    title: `${corner.value < 0 ? 'Barrel' : 'Pincushion'} distortion of ${withUnit(100 * Math.abs(corner.value), '%')} at half the diagonal; the fit leaves ${withUnit(reading.residualRmsPx, 'px rms')}`,
    description: `${reading.pointCount} points of a ${reading.pattern} grid with pitch ${withUnit(reading.pitchMm, 'mm')}; the farthest is moved by ${withUnit(most, 'px')}. Distortion centre (${cx.toFixed(1)}, ${cy.toFixed(1)}) px.`,
    size: { widthPx, heightPx },
    body: [
      label(`Points found, and how distortion moved them (× ${enlarged})`, { xPx: leftPx, yPx: 16 }),
      element('rect', {
        x: leftPx,
        y: topPx,
        width: frame.widthPx * scale,
        height: frame.heightPx * scale,
        fill: 'none',
        stroke: colour('ink'),
      }),
      ...marks,
      element('path', { d: `M${mx - 9} ${my}h18M${mx} ${my - 9}v18`, stroke: colour('ink'), 'stroke-width': 1.5 }),
      label('+ centre of distortion', { xPx: leftPx, yPx: topPx + frame.heightPx * scale + 18 }, { soft: true }),
    ],
  });
}

/** 1, 2 or 5 times a power of ten, at most the value and at most 1000. */
function roundDown(value: number): number {
  const power = 10 ** Math.floor(Math.log10(Math.min(1000, Math.max(1, value))));
  return [5, 2, 1].map((factor) => factor * power).find((round) => round <= Math.max(1, value)) ?? 1;
}
