import { type CancelSignal, neverCancelled } from '../base/index.js';
import {
  type DistanceOfPower,
  type FrameSum,
  fusedImage,
  type GreyImage,
  type HeightMap,
  heightMap,
  stackMemory,
  stackMemoryBytes,
  stackSweep,
  throughFocusModel,
} from '../image/index.js';
import { layoutModelOf, type Station } from '../station/index.js';
import { localHand, type StackHand, threadHand } from './stack-hand.js';
import type { SweepFolder } from './sweep-folder.js';

/** A sweep turned into one sharp picture and a height map, or why not. */
export type StackOutcome =
  | {
      kind: 'stacked';
      picture: GreyImage;
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
/** Decoded frames kept for the second pass, over all threads. */
const keepBytes = 600_000_000;

/** How far a stack is. */
export interface StackProgress {
  done: number;
  total: number;
  doing: 'measuring' | 'fitting' | 'fusing';
}

/**
 * Heights and the all-in-focus picture of a sweep, in several threads.
 *
 * Model    stackSweep, frame by frame; frames beyond 600 MB are decoded a second time for the picture
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
  /** false: heights alone, the picture stays black. */
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
  const size = { frames: rows.length, blocks: columns * blockRows, pixels: widthPx * heightPx };
  const needed = stackMemoryBytes(size);
  if (needed > largestMemoryBytes) {
    return refused(
      'too-large',
      `${rows.length} frames of ${widthPx} × ${heightPx} px need ${(needed / 1e9).toFixed(1)} GB for their curves; the limit is ${largestMemoryBytes / 1e9} GB.`,
      'Give a larger --step-px, or record fewer frames.',
    );
  }
  const buffer =
    threadCount > 1 ? new SharedArrayBuffer(stackMemoryBytes(size)) : new ArrayBuffer(stackMemoryBytes(size));
  const memory = stackMemory(buffer, size);
  const { gainDnPerE, readNoiseE, blackLevelDn } = station.parts.sensor;
  const order = { widthPx, heightPx, bitDepth, blockPx, model, noise: { gainDnPerE, readNoiseE, blackLevelDn } };
  const own = stackSweep(order, memory);
  const begin = {
    order,
    size,
    buffer,
    folder: sweep.folder,
    files: rows.map(({ file }) => file),
    keepBytes: keepBytes / threadCount,
  };
  const hands = Array.from({ length: threadCount }, () =>
    threadCount === 1 ? localHand(begin, signal) : threadHand(begin, signal),
  );
  let done = 0;
  const total = (fuse ? 2 : 1) * rows.length;
  const tell = (doing: StackProgress['doing']) => () => onProgress?.({ done: ++done, total, doing });
  try {
    await eachFrame(hands, 'measure', rows.length, tell('measuring'));
    own.prepare();
    onProgress?.({ done, total, doing: 'fitting' });
    const share = Math.ceil(size.blocks / hands.length);
    await Promise.all(
      hands.map((hand, k) =>
        hand.do(
          { type: 'fit', from: Math.min(size.blocks, k * share), to: Math.min(size.blocks, (k + 1) * share) },
          () => {},
        ),
      ),
    );
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
    const parts = (fuse ? await eachFrame(hands, 'fuse', rows.length, tell('fusing')) : []).filter(
      (part) => part !== null,
    );
    const scales = model.scales;
    return {
      kind: 'stacked',
      picture: fusedImage({ parts, widthPx, heightPx, bitDepth }),
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

/** Frames dealt out in turn, so that every thread gets near and far ones. */
function eachFrame(
  hands: readonly StackHand[],
  type: 'measure' | 'fuse',
  frames: number,
  tell: () => void,
): Promise<(FrameSum | null)[]> {
  const all = Array.from({ length: frames }, (_, i) => i);
  return Promise.all(
    hands.map((hand, k) => hand.do({ type, indices: all.filter((i) => i % hands.length === k) }, tell)),
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
