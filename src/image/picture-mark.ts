import type { BarsRead } from './bars/bar-reading.js';
import type { EdgesRead } from './edge/read-edges.js';
import type { GridReading } from './geometry/index.js';
import type { StarReading } from './star/index.js';

/** An outline over a picture of a frame. */
export interface PictureMark {
  /** Corners in pixels of the frame, pixel centres at integers; the outline is closed. */
  corners: { xPx: number; yPx: number }[];
  /** Empty for none. */
  label: string;
  /** `read`: the number counts; `short`: found, below the criterion or not the one reported. */
  look: 'read' | 'short';
}

/** Regions of the edges that were measured; the best is the one reported. */
export function edgeMarks(read: EdgesRead & { kind: 'measured' }): PictureMark[] {
  return read.edges.map(({ region, mtf50PerPx }, i) => {
    const [left, top] = [region.xPx - 0.5, region.yPx - 0.5];
    const [right, bottom] = [left + region.widthPx, top + region.heightPx];
    return {
      corners: [
        { xPx: left, yPx: top },
        { xPx: right, yPx: top },
        { xPx: right, yPx: bottom },
        { xPx: left, yPx: bottom },
      ],
      label: mtf50PerPx === null ? '' : mtf50PerPx.toFixed(3),
      look: i === 0 ? 'read' : 'short',
    };
  });
}

/** An outline about each element, with group and element where there is room; those of the last resolved element always. */
export function barMarks(read: BarsRead): PictureMark[] {
  const last = read.lastResolved;
  const isLast = (e: { group: number; element: number }, kind: 'horizontal' | 'vertical') =>
    last[kind]?.group === e.group && last[kind]?.element === e.element;
  return read.elements.map((element) => {
    const reach = 2.5 * element.barWidthPx + Math.max(1.5, 0.4 * element.barWidthPx);
    const turn = (element.tiltDeg * Math.PI) / 180;
    const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
    const corner = (a: number, b: number) => ({
      xPx: element.xPx + reach * (a * cos - b * sin),
      yPx: element.yPx + reach * (a * sin + b * cos),
    });
    // Where both patterns of an element are the last ones, one label says it.
    const shownByOther = element.barsRun === 'vertical' && isLast(element, 'horizontal');
    const named = reach > 16 || (isLast(element, element.barsRun) && !shownByOther);
    return {
      corners: [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)],
      label: named ? `${element.group}/${element.element}` : '',
      look: element.resolved ? 'read' : 'short',
    };
  });
}

/** Centre of a star and its rings where the contrast is one half and where it ends. */
export function starMarks(read: StarReading & { kind: 'measured' }): PictureMark[] {
  const { centreXPx, centreYPx, rings, mtf50PerPx, cycles } = read;
  const ring = (radiusPx: number, label: string, look: PictureMark['look']): PictureMark => ({
    corners: Array.from({ length: 72 }, (_, k) => {
      const angle = (k * Math.PI) / 36;
      return { xPx: centreXPx + radiusPx * Math.cos(angle), yPx: centreYPx + radiusPx * Math.sin(angle) };
    }),
    label,
    look,
  });
  const [coarsest, finest] = [rings[0]!, rings.at(-1)!];
  return [
    ring(coarsest.radiusPx, coarsest.frequencyPerPx.toFixed(3), 'short'),
    ring(finest.radiusPx, finest.frequencyPerPx.toFixed(3), 'short'),
    ...(mtf50PerPx === null ? [] : [ring(cycles / (2 * Math.PI * mtf50PerPx), mtf50PerPx.toFixed(3), 'read')]),
  ];
}

/** A small diamond on each point of a grid; dashed where it lies farther from the fit than three times the rms. */
export function gridMarks(read: GridReading & { kind: 'measured' }): PictureMark[] {
  const spread = 3 * read.residualRmsPx;
  const [first, second] = read.points;
  const reach = first && second ? Math.max(2, 0.14 * Math.hypot(second.xPx - first.xPx, second.yPx - first.yPx)) : 3;
  const size = Math.min(reach, 12);
  return read.points.map(({ xPx, yPx, residualXPx, residualYPx }) => ({
    corners: [
      { xPx: xPx - size, yPx },
      { xPx, yPx: yPx - size },
      { xPx: xPx + size, yPx },
      { xPx, yPx: yPx + size },
    ],
    label: '',
    look: Math.hypot(residualXPx, residualYPx) > spread ? 'short' : 'read',
  }));
}
