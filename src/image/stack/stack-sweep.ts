import { requireInteger } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';
import { attributeToBlocks } from './attribute-to-blocks.js';
import { bandCount } from './band-energies.js';
import { bandNoise } from './band-noise.js';
import { blocksToPixels, fillGaps } from './fill-gaps.js';
import { fitBestFocus, focusRefusals } from './fit-best-focus.js';
import { type FrameSum, fusionHalfWidthDpt } from './fuse-frames.js';
import { stackFrames } from './stack-frames.fast.js';
import { mapsPerFrame, type StackMemory } from './stack-memory.js';
import type { ThroughFocusModel } from './through-focus-model.js';
import { scaledMap, windowEnergies } from './window-energies.js';

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

/** One worker's view of a stack. The steps go: all frames measured, prepared, all fitted, finished, all frames fused. */
export interface StackSweep {
  columns: number;
  rows: number;
  /** Step 1, each frame once: its energies into the shared memory. */
  measure(index: number, image: GreyImage): void;
  /** Step 2, once. */
  prepare(): void;
  /** Step 3: the windows from … to. */
  fit(from: number, to: number): void;
  /** Step 4, once: to blocks, gaps filled. */
  finish(): void;
  /** Step 5, each frame once. */
  fuse(index: number, image: GreyImage): void;
  /** What this worker has fused. */
  fused(): FrameSum;
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
  const worker = stackFrames({ widthPx, heightPx, blockPx });
  const top = 2 ** bitDepth - 1;
  const size = { columns, rows, blockPx, widthPx, heightPx };
  const mapOf = (frame: number, map: number) => {
    const at = (frame * mapsPerFrame + map) * blocks;
    return memory.windows.subarray(at, at + blocks);
  };
  const halfWidthDpt = fusionHalfWidthDpt(model);
  let fusing = false;

  return {
    columns,
    rows,
    measure(index, image) {
      const found = worker.bandEnergies(image);
      const scale = model.scales[index]!;
      const texture = new Float32Array(blocks);
      found.energies.forEach((map, band) => {
        mapOf(index, band).set(windowEnergies({ map, ...size, scale }));
        addTo(texture, map, bandShare(band));
      });
      mapOf(index, bandCount).set(scaledMap({ map: texture, ...size, scale }));
      memory.meansDn.set(scaledMap({ map: found.meansDn, ...size, scale }), index * blocks);
      const clipped = Float32Array.from(found.topsDn);
      let any = false;
      for (let b = 0; b < blocks; b++) {
        clipped[b] = clipped[b]! >= top ? 1 : 0;
        any ||= clipped[b] === 1;
      }
      const shown = memory.saturated.subarray(index * blocks, (index + 1) * blocks).fill(0);
      if (any)
        scaledMap({ map: clipped, ...size, scale }).forEach((share, b) => {
          shown[b] = share > 0.5 ? 1 : 0;
        });
    },
    prepare() {
      const levels = Array.from({ length: frames }, (_, i) =>
        mean(memory.meansDn.subarray(i * blocks, (i + 1) * blocks)),
      );
      const level = Math.max(mean(levels) - noise.blackLevelDn, 1e-9);
      for (let i = 0; i < frames; i++) {
        // Light that changes with the power (or flickers) must not look like focus.
        const factor = (level / Math.max(levels[i]! - noise.blackLevelDn, 0.05 * level)) ** 2;
        const maps = memory.windows.subarray(i * mapsPerFrame * blocks, (i + 1) * mapsPerFrame * blocks);
        for (let k = 0; k < maps.length; k++) maps[k] = maps[k]! * factor;
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
      const map = fitBestFocus({ energies, noiseVarianceDn2: memory.noiseVarianceDn2, blockPx, model, from, to });
      memory.bestFocusDpt.set(map.bestFocusDpt, from);
      memory.bestFocusStdDpt.set(map.bestFocusStdDpt, from);
      memory.refusals.set(map.refusals, from);
      for (let b = from; b < to; b++) {
        let count = 0;
        for (let i = 0; i < frames; i++) count += memory.saturated[i * blocks + b]!;
        if (count > saturatedShare * frames) memory.refusals[b] = focusRefusals.indexOf('saturated');
      }
    },
    finish() {
      const floor = bandNoise().reduce((sum, { gain }, band) => sum + gain * bandShare(band), 0);
      const textures = memory.noiseVarianceDn2.map((variance) => -floor * variance);
      for (let i = 0; i < frames; i++) {
        const map = mapOf(i, bandCount);
        for (let b = 0; b < blocks; b++) textures[b] = textures[b]! + map[b]! / frames;
      }
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
      const filled = fillGaps({ map: found.bestFocusDpt, columns, rows });
      const [low, high] = [Math.min(...model.focalPowersDpt), Math.max(...model.focalPowersDpt)];
      const inside = filled.map((power) => Math.min(high, Math.max(low, power)));
      memory.powersDpt.set(blocksToPixels({ map: inside, ...size }));
    },
    fuse(index, image) {
      if (!fusing) worker.beginFusion(memory.powersDpt);
      fusing = true;
      worker.addFrame({
        image,
        focalPowerDpt: model.focalPowersDpt[index]!,
        halfWidthDpt,
        scale: model.scales[index]!,
      });
    },
    fused: () => worker.fusionSums(),
  };
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
