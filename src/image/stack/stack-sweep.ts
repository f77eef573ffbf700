import { requireInteger } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';
import { attributeToBlocks } from './attribute-to-blocks.js';
import { bandEnergiesFast } from './band-energies.fast.js';
import { bandCount } from './band-energies.js';
import { bandNoise } from './band-noise.js';
import { fillGaps } from './fill-gaps.js';
import { fitBestFocus, focusRefusals } from './fit-best-focus.js';
import { fusionRows } from './fuse-frames.fast.js';
import { fusionHalfWidthDpt } from './fuse-frames.js';
import { mapsPerFrame, type StackMemory } from './stack-memory.js';
import type { ThroughFocusModel } from './through-focus-model.js';
import { windowMaps } from './window-energies.fast.js';

/** Noise of the camera, for the noise floor: EMVA 1288 without dark current. */
export interface StackNoise {
  gainDnPerE: number;
  readNoiseE: number;
  blackLevelDn: number;
}

/** All that the workers of one stack must agree on. */
export interface StackOrder {
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  /** Step of the height map; a multiple of 8. */
  blockPx: number;
  model: ThroughFocusModel;
  noise: StackNoise;
}

/** One worker's view of a stack. The steps go: all frames measured, prepared, all fitted, finished, all rows fused. */
export interface StackSweep {
  columns: number;
  rows: number;
  /** Step 1, each frame once: its energies into the shared memory, and itself where there is room. */
  measure(index: number, image: GreyImage): void;
  /** Step 2, once: light and noise. */
  prepare(): void;
  /** Step 3: the windows from … to. */
  fit(from: number, to: number): void;
  /** Step 4, once: to blocks, gaps filled. */
  finish(): void;
  /** Step 5, each row once: the rows from … to − 1 of the picture into the shared memory, of frames that `imageOf` gives. */
  fuse(rows: { from: number; to: number }, imageOf: (index: number) => Promise<GreyImage>): Promise<void>;
}

/** Weight of a band in the texture of a block: coarse bands see beyond the block. */
const bandShare = (band: number): number => 4 ** -band;

/** Share of frames in which a block may be saturated. */
const saturatedShare = 0.1;

/** Sets one worker up. Throws RangeError for a block that is no multiple of 8, or a frame with fewer than 6 × 6 blocks. */
export function stackSweep(order: StackOrder, memory: StackMemory): StackSweep {
  const { widthPx, heightPx, blockPx, model, noise, bitDepth } = order;
  requireInteger('blockPx', blockPx, { min: 8, max: 64, unit: 'px' });
  if (blockPx % 8 !== 0) throw new RangeError(`blockPx is ${blockPx} px; allowed: a multiple of 8`);
  const columns = Math.floor(widthPx / blockPx);
  const rows = Math.floor(heightPx / blockPx);
  if (columns < 6 || rows < 6) {
    throw new RangeError(`the frame is ${widthPx} × ${heightPx} px; allowed: at least ${6 * blockPx} px each way`);
  }
  const blocks = columns * rows;
  const frames = model.focalPowersDpt.length;
  const top = 2 ** bitDepth - 1;
  const size = { columns, rows, blockPx, widthPx, heightPx };
  // Memory for a step is reserved where the step is first done.
  const bands = once(() => bandEnergiesFast(size));
  const maps = once(() => windowMaps(size));
  const fusion = once(() =>
    fusionRows({ ...size, bitDepth, scales: model.scales, halfWidthDpt: fusionHalfWidthDpt(model) }),
  );
  const mapOf = (frame: number, map: number) => {
    const at = (frame * mapsPerFrame + map) * blocks;
    return memory.windows.subarray(at, at + blocks);
  };

  return {
    columns,
    rows,
    measure(index, image) {
      const found = bands()(image);
      const { windowed, scaled } = maps();
      const scale = model.scales[index]!;
      const texture = new Float32Array(blocks);
      found.energies.forEach((map, band) => {
        mapOf(index, band).set(windowed(map, scale));
        addTo(texture, map, bandShare(band));
      });
      mapOf(index, bandCount).set(scaled(texture, scale));
      memory.meansDn.set(scaled(found.meansDn, scale), index * blocks);
      memory.kept[index]?.set(image.data);
      const shown = memory.saturated.subarray(index * blocks, (index + 1) * blocks).fill(0);
      const clipped = clippedBlocks(found.topsDn, top);
      if (clipped === null) return;
      const shares = scaled(clipped, scale);
      for (let b = 0; b < blocks; b++) shown[b] = shares[b]! > 0.5 ? 1 : 0;
    },
    prepare() {
      const levels = Array.from({ length: frames }, (_, i) =>
        mean(memory.meansDn.subarray(i * blocks, (i + 1) * blocks)),
      );
      const level = Math.max(mean(levels) - noise.blackLevelDn, 1e-9);
      for (let i = 0; i < frames; i++) {
        // Light that changes with the power (or flickers) must not look like focus.
        memory.lightFactors[i] = (level / Math.max(levels[i]! - noise.blackLevelDn, 0.05 * level)) ** 2;
      }
      for (let b = 0; b < blocks; b++) {
        let sum = 0;
        for (let i = 0; i < frames; i++) sum += memory.meansDn[i * blocks + b]!;
        const signalDn = Math.max(0, sum / frames - noise.blackLevelDn);
        memory.noiseVarianceDn2[b] = (noise.gainDnPerE * noise.readNoiseE) ** 2 + noise.gainDnPerE * signalDn + 1 / 12;
      }
    },
    fit(from, to) {
      const energies = Array.from({ length: bandCount }, (_, band) =>
        Array.from({ length: frames }, (_, i) => mapOf(i, band)),
      );
      const { noiseVarianceDn2, lightFactors } = memory;
      const map = fitBestFocus({ energies, factors: lightFactors, noiseVarianceDn2, blockPx, model, from, to });
      memory.bestFocusDpt.set(map.bestFocusDpt, from);
      memory.bestFocusStdDpt.set(map.bestFocusStdDpt, from);
      memory.refusals.set(map.refusals, from);
      const textures = memory.textures.subarray(from, to).fill(0);
      for (let i = 0; i < frames; i++) {
        addTo(textures, mapOf(i, bandCount).subarray(from, to), lightFactors[i]! / frames);
      }
      for (let b = from; b < to; b++) {
        let count = 0;
        for (let i = 0; i < frames; i++) count += memory.saturated[i * blocks + b]!;
        if (count > saturatedShare * frames) memory.refusals[b] = focusRefusals.indexOf('saturated');
      }
    },
    finish() {
      const floor = bandNoise().reduce((sum, { gain }, band) => sum + gain * bandShare(band), 0);
      const textures = memory.textures.map((texture, b) => texture - floor * memory.noiseVarianceDn2[b]!);
      const found = attributeToBlocks({
        map: memory,
        textures,
        columns,
        rows,
        quarterWaveHalfWidthDpt: model.quarterWaveHalfWidthDpt,
      });
      memory.bestFocusDpt.set(found.bestFocusDpt);
      memory.bestFocusStdDpt.set(found.bestFocusStdDpt);
      memory.refusals.set(found.refusals);
      const [low, high] = [Math.min(...model.focalPowersDpt), Math.max(...model.focalPowersDpt)];
      const filled = fillGaps({ map: found.bestFocusDpt, columns, rows });
      for (let b = 0; b < blocks; b++) memory.blockPowersDpt[b] = Math.min(high, Math.max(low, filled[b]!));
    },
    async fuse({ from, to }, imageOf) {
      const picture = fusion();
      picture.begin({ from, to, blockPowersDpt: memory.blockPowersDpt });
      for (let index = 0; index < frames; index++) {
        const data = memory.kept[index];
        const image = data ? { widthPx, heightPx, bitDepth, data } : await imageOf(index);
        picture.add({ image, focalPowerDpt: model.focalPowersDpt[index]!, scale: model.scales[index]! });
      }
      memory.picture.set(picture.settled(), from * widthPx);
    },
  };
}

function once<T>(make: () => T): () => T {
  let made: T | undefined;
  return () => {
    made ??= make();
    return made;
  };
}

/** 1 for each block in which a pixel has the largest grey value; null where none has. */
function clippedBlocks(topsDn: Float32Array, top: number): Float32Array | null {
  let clipped: Float32Array | null = null;
  for (let b = 0; b < topsDn.length; b++) {
    if (topsDn[b]! < top) continue;
    clipped ??= new Float32Array(topsDn.length);
    clipped[b] = 1;
  }
  return clipped;
}

/** to += factor · from. */
function addTo(to: Float32Array, from: Float32Array, factor: number): void {
  for (let b = 0; b < to.length; b++) to[b] = to[b]! + factor * from[b]!;
}

const mean = (values: ArrayLike<number>): number => {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum / values.length;
};
