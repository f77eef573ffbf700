import type {
  BarsReading,
  EdgesRead,
  FocusReading,
  GridPattern,
  GridReading,
  LevelNoise,
  PictureMark,
  Region,
  StarReading,
} from '../../image/index.js';
import type { Station } from '../../station/index.js';

/** What can be measured on a frame in the page. */
export const measureKinds = ['edge', 'focus', 'bars', 'star', 'grid', 'noise'] as const;
export type MeasureKind = (typeof measureKinds)[number];

/** Noise of a pixel: that of a sensor at the region's mean grey value, or as given. */
export type PixelNoise = { of: 'sensor'; sensor: Station['parts']['sensor'] } | { of: 'given'; stdDn: number };

/** What to measure, and where; region null: the whole frame. */
export type MeasureOrder = { region: Region | null } & (
  | { what: 'edge'; pixelPitchUm: number; magnification: number | null }
  | { what: 'focus'; noise: PixelNoise | null }
  | { what: 'bars'; umPerPx: number; modulation: number | null }
  | { what: 'star'; sectors: number }
  | { what: 'grid'; pitchMm: number; pattern: GridPattern | null }
  | { what: 'noise' }
);

/** A refusal that the page itself has to give, in the form of the library's. */
export interface MeasureRefusal {
  kind: 'refused';
  reason: string;
  message: string;
  remedy: string;
}

/** Temporal and spatial noise of two frames of one scene. */
export type PairNoise = ({ kind: 'measured'; region: Region } & LevelNoise) | MeasureRefusal;

/** What was measured: the library's own record. */
export type MeasureResult =
  | { what: 'edge'; reading: EdgesRead }
  | { what: 'focus'; reading: FocusReading }
  | { what: 'bars'; reading: BarsReading }
  | { what: 'star'; reading: StarReading }
  | { what: 'grid'; reading: GridReading }
  | { what: 'noise'; reading: PairNoise };

/** A result with the outlines of what was found. */
export type MeasureOutcome = MeasureResult & { marks: PictureMark[] };
