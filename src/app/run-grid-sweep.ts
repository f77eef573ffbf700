import { join } from 'node:path';
import { type CancelSignal, neverCancelled, throwIfCancelled } from '../base/index.js';
import {
  type GridPattern,
  measureGrid,
  type ScaleAtPower,
  type ScaleOverPower,
  scaleOverPower,
} from '../image/index.js';
import { predictedPixelMm, type Station } from '../station/index.js';
import { readImage } from './read-image.js';
import type { SweepFolder } from './sweep-folder.js';

/** The scale that one frame of a sweep shows, beside the predicted one. */
export interface GridFrame {
  file: string;
  sha256: string;
  focalPowerDpt: number;
  workingDistanceMm: number;
  /** Null where the frame shows no grid: `refusal` says why. */
  pixelMm: number | null;
  pixelStdMm: number | null;
  pointCount: number;
  refusal: string | null;
  predictedPixelMm: number | null;
}

/** Scale over focal power, frame by frame and as a line. */
export interface GridSweep {
  frames: GridFrame[];
  change: ScaleOverPower;
  /** The line through what the station predicts at the same powers; null without a station, or where nothing was measured. */
  predicted: ScaleOverPower | null;
}

/**
 * Measures the grid in every frame of a sweep, and how its scale changes with power.
 *
 * Throws   `image-unreadable`, `image-too-large`, `cancelled`.
 */
export async function runGridSweep({
  sweep,
  pitchMm,
  pattern,
  station,
  onProgress,
  signal = neverCancelled,
}: {
  sweep: SweepFolder;
  pitchMm: number;
  pattern: GridPattern | undefined;
  station: Station | null;
  onProgress?: (done: number, total: number) => void;
  signal?: CancelSignal;
}): Promise<GridSweep> {
  const frames: GridFrame[] = [];
  for (const { file, focalPowerDpt, workingDistanceMm } of sweep.rows) {
    throwIfCancelled(signal, 'measuring the grid');
    const { image, sha256 } = await readImage(join(sweep.folder, file));
    const reading = measureGrid({ image, pitchMm, pattern });
    const read = reading.kind === 'measured' ? reading : null;
    frames.push({
      file,
      sha256,
      focalPowerDpt,
      workingDistanceMm,
      pixelMm: read?.pixelMm.value ?? null,
      pixelStdMm: read?.pixelMm.std ?? null,
      pointCount: read?.pointCount ?? 0,
      refusal: reading.kind === 'refused' ? reading.message : null,
      predictedPixelMm: station && predictedPixelMm({ station, workingDistanceMm, focalPowerDpt }),
    });
    onProgress?.(frames.length, sweep.rows.length);
  }
  const points = frames.flatMap(({ focalPowerDpt, pixelMm, pixelStdMm }): ScaleAtPower[] =>
    pixelMm !== null && pixelStdMm !== null && pixelStdMm > 0 ? [{ focalPowerDpt, pixelMm, pixelStdMm }] : [],
  );
  const change = scaleOverPower(points);
  // With the deviations of what was measured, so that both lines weigh the powers alike.
  const expected = frames.flatMap(({ focalPowerDpt, predictedPixelMm: pixelMm, pixelStdMm }): ScaleAtPower[] =>
    pixelMm !== null && pixelStdMm !== null && pixelStdMm > 0 ? [{ focalPowerDpt, pixelMm, pixelStdMm }] : [],
  );
  return { frames, change, predicted: station && change.kind === 'measured' ? scaleOverPower(expected) : null };
}
