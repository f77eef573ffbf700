import type { PictureMark } from '../../image/index.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { type Figure, figureOf, label, smallFontPx } from './figure.js';

/** What the figure shows: a frame, and what was found in it. */
export interface MarkedPictureInput {
  title: string;
  description: string;
  /** `data:` address of the picture, and the size of the frame it shows. */
  picture: { dataUri: string; widthPx: number; heightPx: number };
  marks: readonly PictureMark[];
}

/** A frame with outlines and labels: solid where the number counts, dashed where something was found and does not. */
export function markedPictureFigure(
  { title, description, picture, marks }: MarkedPictureInput,
  { widthPx }: { widthPx: number },
): Figure {
  const scale = widthPx / picture.widthPx;
  const heightPx = Math.max(1, Math.round(picture.heightPx * scale));
  const outlines = marks.flatMap(({ corners, look, label: text }) => {
    const points = corners.map(({ xPx, yPx }): [number, number] => [(xPx + 0.5) * scale, (yPx + 0.5) * scale]);
    const line = (stroke: string, widthOfLine: number) =>
      element('polygon', {
        points: points.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(' '),
        fill: 'none',
        stroke,
        'stroke-width': widthOfLine,
        'stroke-dasharray': look === 'short' ? '4 3' : null,
      });
    const left = Math.min(...points.map(([x]) => x));
    const top = Math.min(...points.map(([, y]) => y));
    const low = Math.max(...points.map(([, y]) => y));
    const name =
      text && label(text, { xPx: Math.max(1, left), yPx: top > 14 ? top - 3 : low + 12 }, { sizePx: smallFontPx });
    return [line(colour('paper'), 3.5), line(colour(look === 'read' ? 'predicted' : 'measured'), 1.6), name || null];
  });
  return figureOf({
    title,
    description,
    size: { widthPx, heightPx },
    body: [
      element('image', { href: picture.dataUri, width: widthPx, height: heightPx, preserveAspectRatio: 'none' }),
      ...outlines,
    ],
  });
}
