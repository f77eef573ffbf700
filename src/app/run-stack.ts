import { type CancelSignal, neverCancelled } from '../base/index.js';
import {
  type DistanceOfPower,
  frameBytes,
  type GreyImage,
  type HeightMap,
  heightMap,
  stackMemory,
  stackMemoryBytes,
  stackSweep,
  throughFocusModel,
} from '../image/index.js';
import { layoutModelOf, type Station } from '../station/index.js';
import { localHand, type StackHand, type StackStep, threadHand } from './stack-hand.js';
import type { SweepFolder } from './sweep-folder.js';

/** A sweep turned into one sharp picture and a height map, or why not. */
export type StackOutcome =
  | {
      kind: 'stacked';
      /** null where none was wanted. */
      picture: GreyImage | null;
      heights: HeightMap;
      frames: number;
      powerMinDpt: number;
      powerMaxDpt: number;
      /** The frame that picture and map belong to. */
      referenceFile: string;
      /** Change of the picture's size over the sweep that was taken out. */
      breathingFraction: number;
      quarterWaveHalfWidthDpt: number;
    }
  | StackRefusal;

/** Why a sweep gives no heights. */
export interface StackRefusal {
  kind: 'refused';
  reason: 'too-small' | 'too-large' | 'too-few' | 'too-wide' | 'no-focus' | 'no-texture' | 'outside-calibration';
  message: string;
  remedy: string;
}

/** Fewest different powers, and the widest step, in half-widths of a quarter wave, that a peak can be fitted to. */
const fewestPowers = 5;
const widestStepHalfWidths = 4;
/** Fewest blocks each way. */
const fewestBlocks = 6;
/** Largest memory for curves and maps. */
const largestMemoryBytes = 1.5e9;
/** Decoded frames kept for the picture. */
const keepBytes = 600_000_000;
/** Windows of one step, and rows of the picture where all frames are kept: small, so that no thread waits long for another. */
const windowsAtOnce = 4096;
const rowsAtOnce = 128;

/** How far a stack is. */
export interface StackProgress {
  done: number;
  total: number;
  doing: 'measuring' | 'fitting' | 'fusing';
}

/**
 * Heights and the all-in-focus picture of a sweep, in several threads.
 *
 * Model    stackSweep: frame by frame, then the picture by rows of it; frames beyond 600 MB are decoded again for the picture
 * Input    `threadCount`: 1 works in the calling thread
 * Throws   `image-unreadable`, `cancelled`; RangeError for frames smaller than six blocks each way.
 */
export async function runStack({
  sweep,
  station,
  distanceOf,
  blockPx,
  threadCount,
  fuse = true,
  onProgress,
  signal = neverCancelled,
}: {
  sweep: SweepFolder;
  station: Station;
  distanceOf: DistanceOfPower;
  blockPx: number;
  threadCount: number;
  /** false: heights alone. */
  fuse?: boolean;
  onProgress?: (progress: StackProgress) => void;
  signal?: CancelSignal;
}): Promise<StackOutcome> {
  const { rows, widthPx, heightPx, bitDepth } = sweep;
  const blocksEachWay = Math.floor(Math.min(widthPx, heightPx) / blockPx);
  if (blocksEachWay < fewestBlocks) {
    return refused(
      'too-small',
      `The frames are ${widthPx} × ${heightPx} px; a map in steps of ${blockPx} px needs at least ${fewestBlocks * blockPx} px each way.`,
      'Record a larger region of interest.',
    );
  }
  const focalPowersDpt = rows.map((row) => row.focalPowerDpt);
  const distinct = [...new Set(focalPowersDpt)].sort((a, b) => a - b);
  if (distinct.length < fewestPowers) {
    return refused(
      'too-few',
      `${distinct.length} focal powers; a height needs at least ${fewestPowers}.`,
      'Record a sweep of 16 to 40 powers, half a depth of field apart or less.',
    );
  }
  const model = throughFocusModel({
    model: layoutModelOf(station),
    wavelengthNm: station.parts.light.wavelengthNm,
    pixelPitchUm: station.parts.sensor.pixelPitchUm,
    focalPowersDpt,
  });
  if (model === null) {
    return refused(
      'no-focus',
      'By the station file, some of these powers focus no real object.',
      'Check the station file, or record the sweep inside the reach of the layout.',
    );
  }
  const widest = distinct.slice(1).reduce((most, power, i) => Math.max(most, power - distinct[i]!), 0);
  const { quarterWaveHalfWidthDpt } = model;
  if (widest > widestStepHalfWidths * quarterWaveHalfWidthDpt) {
    return refused(
      'too-wide',
      `The powers lie up to ${widest.toPrecision(3)} dpt apart; the curve through focus is only ${(2 * quarterWaveHalfWidthDpt).toPrecision(3)} dpt wide.`,
      `Record the sweep again in steps of ${quarterWaveHalfWidthDpt.toPrecision(2)} dpt or less.`,
    );
  }
  const [columns, blockRows] = [Math.floor(widthPx / blockPx), Math.floor(heightPx / blockPx)];
  const pixels = fuse ? widthPx * heightPx : 0;
  const size = { frames: rows.length, blocks: columns * blockRows, pixels, bitDepth, keptFrames: 0 };
  const needed = stackMemoryBytes(size);
  if (needed > largestMemoryBytes) {
    return refused(
      'too-large',
      `${rows.length} frames of ${widthPx} × ${heightPx} px need ${(needed / 1e9).toFixed(1)} GB for their curves; the limit is ${largestMemoryBytes / 1e9} GB.`,
      'Give a larger --step-px, or record fewer frames.',
    );
  }
  if (fuse) size.keptFrames = Math.min(rows.length, Math.floor(keepBytes / frameBytes(size)));
  const buffer =
    threadCount > 1 ? new SharedArrayBuffer(stackMemoryBytes(size)) : new ArrayBuffer(stackMemoryBytes(size));
  const memory = stackMemory(buffer, size);
  const { gainDnPerE, readNoiseE, blackLevelDn } = station.parts.sensor;
  const order = { widthPx, heightPx, bitDepth, blockPx, model, noise: { gainDnPerE, readNoiseE, blackLevelDn } };
  const own = stackSweep(order, memory);
  const begin = { order, size, buffer, folder: sweep.folder, files: rows.map(({ file }) => file) };
  const hands = Array.from({ length: threadCount }, () =>
    threadCount === 1 ? localHand(begin, signal) : threadHand(begin, signal),
  );
  const allKept = size.keptFrames === rows.length;
  const measuring = rows.map((_, index): StackStep => ({ type: 'measure', index }));
  const fitting = parts('fit', size.blocks, windowsAtOnce);
  const fusing = fuse ? parts('fuse', heightPx, allKept ? rowsAtOnce : Math.ceil(heightPx / threadCount)) : [];
  let done = 0;
  const total = measuring.length + fusing.length;
  const tell = (doing: StackProgress['doing']) => () => onProgress?.({ done: ++done, total, doing });
  try {
    await shareOut(hands, measuring, tell('measuring'));
    own.prepare();
    onProgress?.({ done, total, doing: 'fitting' });
    await shareOut(hands, fitting, () => {});
    own.finish();
    const heights = heightMap({
      ...memory,
      columns,
      rows: blockRows,
      stepPx: blockPx,
      quarterWaveHalfWidthDpt,
      distanceOf,
    });
    if (heights === null) return nothingFound(memory.refusals);
    await shareOut(hands, fusing, tell('fusing'));
    const scales = model.scales;
    return {
      kind: 'stacked',
      picture: fuse ? { widthPx, heightPx, bitDepth, data: memory.picture } : null,
      heights,
      frames: rows.length,
      powerMinDpt: distinct[0]!,
      powerMaxDpt: distinct.at(-1)!,
      referenceFile: rows[model.referenceIndex]!.file,
      breathingFraction: Math.max(...scales) - Math.min(...scales),
      quarterWaveHalfWidthDpt,
    };
  } finally {
    for (const hand of hands) hand.end();
  }
}

/** Steps of so many windows, or rows, each. */
const parts = (type: 'fit' | 'fuse', count: number, atOnce: number): StackStep[] =>
  Array.from({ length: Math.ceil(count / atOnce) }, (_, k) => ({
    type,
    from: k * atOnce,
    to: Math.min(count, (k + 1) * atOnce),
  }));

/** Each hand takes the next step when it has done one; after a failure none is begun any more. */
async function shareOut(hands: readonly StackHand[], steps: readonly StackStep[], tell: () => void): Promise<void> {
  let next = 0;
  await Promise.all(
    hands.map(async (hand) => {
      try {
        while (next < steps.length) {
          await hand.do(steps[next++]!);
          tell();
        }
      } catch (error) {
        next = steps.length;
        throw error;
      }
    }),
  );
}

function nothingFound(refusals: Uint8Array): StackRefusal {
  return refusals.includes(0)
    ? refused(
        'outside-calibration',
        'Every height lies outside the range that the calibration covers.',
        'Calibrate over the range of the surface, or use the optical model.',
      )
    : refused(
        'no-texture',
        'No part of the picture shows a peak of sharpness inside the sweep.',
        'Light the surface at a flatter angle or project a pattern on it; check that the sweep spans its focus.',
      );
}

const refused = (reason: StackRefusal['reason'], message: string, remedy: string): StackRefusal => ({
  kind: 'refused',
  reason,
  message,
  remedy,
});
