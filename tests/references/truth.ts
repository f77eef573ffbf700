import { readJson } from './folder.js';

/** What the frames were made with; the station file says something else. */
export interface Hidden {
  powerGain: number;
  powerOffsetDpt: number;
  ringDistanceRelative: number;
}

export interface TruthDistance {
  workingDistanceMm: number;
  bestFocusDpt: number;
  predictedByFileDpt: number;
  quarterWaveHalfWidthDpt: number;
  magnification: number;
}

export interface TruthEdge {
  orientation: 'near-vertical' | 'near-horizontal';
  angleDeg: number;
  region: { xPx: number; yPx: number; widthPx: number; heightPx: number };
  mtfAtBestFocus: { frequencyPerPx: number; value: number }[];
}

export interface RecordedTruth {
  hidden: Hidden;
  wavelengthNm: number;
  workingFNumber: number;
  cutoffPerPx: number;
  distances: TruthDistance[];
  edges: TruthEdge[];
  frames: { file: string; defocusWaves: number; breathing: number }[];
}

export interface RunTruth extends Omit<TruthDistance, 'magnification'> {
  hidden: Hidden;
  frames: { file: string; defocusWaves: number }[];
}

export const recordedTruth = (): RecordedTruth => readJson('recorded-frames/truth.json');
export const runTruth = (): RunTruth => readJson('focus-run/truth.json');
