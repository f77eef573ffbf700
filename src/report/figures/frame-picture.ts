import type { ResolutionReading } from '../../station/index.js';
import { withUnit } from '../format-number.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { type Figure, figureOf } from './figure.js';

/** What the figure shows: a frame, and where its edge was measured. */
export interface FramePictureInput {
  reading: ResolutionReading;
  /** `data:` address of the picture, and the size of the frame it shows. */
  picture: { dataUri: string; widthPx: number; heightPx: number };
}

/** The frame whose edge was measured, with the region marked. */
export function framePictureFigure({ reading, picture }: FramePictureInput, { widthPx }: { widthPx: number }): Figure {
  const scale = widthPx / picture.widthPx;
  const heightPx = Math.round(picture.heightPx * scale);
  const region = reading.result.kind === 'measured' ? reading.result.region : null;
  const at = `${withUnit(reading.workingDistanceMm, 'mm', 4)} at ${withUnit(reading.focalPowerDpt, 'dpt')}`;
  const title = region
    ? `The frame at ${at}; the edge was measured in the marked region`
    : `The frame at ${at}; no edge could be measured in it`;
  const mark = (stroke: string, strokePx: number) =>
    region &&
    element('rect', {
      x: region.xPx * scale,
      y: region.yPx * scale,
      width: region.widthPx * scale,
      height: region.heightPx * scale,
      fill: 'none',
      stroke,
      'stroke-width': strokePx,
    });
  return figureOf({
    title,
    description: `Target as the camera sees it, ${picture.widthPx} × ${picture.heightPx} px.`,
    size: { widthPx, heightPx },
    body: [
      element('image', { href: picture.dataUri, width: widthPx, height: heightPx, preserveAspectRatio: 'none' }),
      mark(colour('paper'), 4),
      mark(colour('measured'), 2),
    ],
  });
}
