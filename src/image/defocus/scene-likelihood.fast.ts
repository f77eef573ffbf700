import { type KernelScene, kernelScene } from './kernel-scene.js';
import type { RingBlurTable } from './ring-blur-table.js';
import type { SceneLikelihood } from './scene-likelihood.js';
import type { SpectrumRings } from './spectrum-rings.js';

/**
 * As sceneLikelihood, by the kernels of assembly/defocus.ts (WebAssembly with SIMD): two rings at a time in double precision, with frames
 * and table in the kernels' memory.
 *
 * Cost     a hypothesis of the blur of two, three and five frames, 26 rings: about 2.7, 3.3 and 4.4 µs, reading the table included.
 * Throws   WebAssembly.CompileError where SIMD is not to be had; RangeError for more than 32 frames.
 * Checked  property: as sceneLikelihood within 1e-11, tests/image/defocus/scene-likelihood.fast.test.ts
 */
export function sceneLikelihoodFast(rings: SpectrumRings): SceneLikelihood {
  let withoutTable: KernelScene | null = null;
  const scenes = new WeakMap<RingBlurTable, KernelScene>();
  /** Which frames lie in a scene. */
  const laid = new WeakMap<KernelScene, object>();
  const sceneOf = (table: RingBlurTable): KernelScene => {
    const found = scenes.get(table) ?? kernelScene({ rings, table });
    scenes.set(table, found);
    return found;
  };
  return {
    frequenciesPerPx: rings.frequenciesPerPx,
    ofBlurs(frames, table) {
      const scene = sceneOf(table);
      const own = {};
      return (hypothesis) => {
        if (laid.get(scene) !== own) {
          scene.layFrames(frames);
          laid.set(scene, own);
        }
        return scene.askBlurs(hypothesis);
      };
    },
    fit(frames, blurs, modelError) {
      withoutTable ??= kernelScene({ rings, table: null });
      withoutTable.layFrames(frames);
      const logLikelihood = withoutTable.askShares(blurs, modelError);
      return {
        logLikelihood,
        logPowers: withoutTable.result('logPowers'),
        logVariances: withoutTable.result('logVariances'),
      };
    },
  };
}
