import type { Region } from '../grey-image.js';

/** Why no bars were read. */
export type BarsRefusal = 'region-too-small' | 'black' | 'clipped' | 'no-bars';

/** An element of the three-bar series. */
export interface SeriesElement {
  group: number;
  /** 1 … 6 */
  element: number;
  lpPerMm: number;
}

/** One pattern of three bars that was found. */
export interface ReadElement extends SeriesElement {
  /** Which way the bars run in the picture; resolution is read across them. */
  barsRun: 'horizontal' | 'vertical';
  /** Middle of the three bars. */
  xPx: number;
  yPx: number;
  /** Width of one bar as measured, and as the element has it. */
  barWidthPx: number;
  nominalBarWidthPx: number;
  /** Turn against the pixel grid, positive clockwise in the picture. */
  tiltDeg: number;
  /** Contrast that is left: (bars − spaces) / (bar level − ground level), 1 as printed. */
  contrast: number;
  contrastStd: number;
  /** Grey value of the bars and of the spaces at their extremes. */
  barsDn: number;
  spacesDn: number;
  /** Share of the structure there that three bars explain, 0 … 1. */
  explained: number;
  resolved: boolean;
}

/** Last resolved elements: bars that run horizontally, vertically, and both. */
export interface LastResolved {
  horizontal: SeriesElement | null;
  vertical: SeriesElement | null;
  joint: SeriesElement | null;
}

/** A read target. */
export interface BarsRead {
  kind: 'measured';
  /** An element counts as resolved where its contrast is at least this. */
  criterion: { name: 'rayleigh-dip' | 'modulation'; modulation: number };
  /** group, element and lpPerMm are those of the joint reading; null where no element shows both ways. */
  lastResolved: LastResolved & { [key in keyof SeriesElement]: number | null };
  /** From coarse to fine. */
  elements: ReadElement[];
  barsAre: 'brighter' | 'darker';
  tiltDeg: number;
  /** Measured size over nominal size: 1 where the µm per pixel given are right. */
  sizeRatio: number;
  sizeRatioStd: number;
  umPerPx: number;
  region: Region;
}

/** A read target, or an honest refusal. */
export type BarsReading =
  | BarsRead
  | { kind: 'refused'; reason: BarsRefusal; message: string; remedy: string; lastResolved: null; elements: [] };
