import type { Verdict } from '../../base/index.js';
import type { PartKind } from '../parts-library/part-kinds.js';

/** A layout that the search found: parts by name, settings, and what it has to spare. */
export interface FoundLayoutRecord {
  /** 1 = the largest smallest margin. */
  rank: number;
  parts: Record<Exclude<PartKind, 'light'>, string>;
  tunableLensAt: 'object-side' | 'at-stop' | 'image-side';
  gapMm: number;
  fNumber: number;
  /** null: infinity. */
  ringDistanceMm: number | null;
  exposureMs: number;
  /** Share of its limit that each requirement has to spare: 0 = just met, negative = missed; worst plane. */
  margins: Record<string, number>;
  smallestMargin: number;
  smallestRequirement: string;
  verdict: Verdict;
  /** true: no other choice that meets the task has at least as much margin everywhere and more somewhere. */
  onParetoFront: boolean;
  /** The layout as a station file. */
  yaml: string;
}

/** A part that is in no layout that meets the task, and why. */
export interface RejectedPartRecord {
  kind: PartKind;
  name: string;
  /** The requirement that ends every layout with this part. */
  requirement: string;
  /** Best margin of that requirement among layouts with this part that met those asked before. */
  bestMargin: number;
  reason: string;
}

/** The answer of `search`. */
export interface SearchRecord {
  kind: 'search';
  task: string;
  invented: boolean;
  softwareVersion: string;
  /** Light that all layouts take. */
  light: string;
  /** All combinations of the space, each predicted or ruled out. */
  combinationCount: number;
  /** Full predictions made. */
  predictionCount: number;
  /** Combinations that first missed at each requirement, in the order asked. */
  missedCounts: Record<string, number>;
  /** Best setting of each choice of sensor, lenses and place that meets the task, best first; none does: the nearest misses. */
  layouts: FoundLayoutRecord[];
  /** All such choices; `layouts` holds the first 200. */
  choiceCount: number;
  /** false: no layout meets the task, and `layouts` are the nearest misses. */
  met: boolean;
  rejectedParts: RejectedPartRecord[];
  /** What was assumed, with its effect. */
  assumptions: string[];
}
