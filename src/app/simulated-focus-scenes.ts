import { seededRandom } from '../base/index.js';
import type { Bench } from '../devices/index.js';
import type { Region } from '../image/index.js';
import { focalPowerAt } from '../optics/index.js';
import { meanLevelDn, strategyLevelsDn } from '../planning/index.js';
import { focusHalfWidthDpt } from '../procedures/index.js';
import type { Station } from '../station/index.js';
import { createSimulatedBench, trueLayout } from '../twin/index.js';

/** Frame and region of a scene: a patch is enough, and a whole frame would take ten times as long. */
const patchPx = 384;
const regionPx = 256;

/** A seeded scene on the simulated station with a known best focus. */
export interface FocusScene {
  meanLevelDn: number;
  halfWidthDpt: number;
  region: Region;
  /** A fresh start: lens parked, light as drawn. */
  bench: Bench;
  /** How far the resting lens is from best focus, in half-widths. */
  errorHalfWidths(): Promise<number>;
}

/**
 * Draws one scene: build errors, target and place by the seed, light by turns, a distance anywhere between near and far.
 *
 * Returns  null where the station as built cannot focus the distance inside its limits.
 */
export function simulatedFocusScene(
  station: Station,
  { seed, index }: { seed: number; index: number },
): FocusScene | null {
  const random = seededRandom(seed).fork(`scene-${index}`);
  const meanLevel = strategyLevelsDn[index % strategyLevelsDn.length]!;
  const { sensor } = station.parts;
  const patch: Station = {
    ...station,
    parts: {
      ...station.parts,
      sensor: { ...sensor, widthPx: Math.min(patchPx, sensor.widthPx), heightPx: Math.min(patchPx, sensor.heightPx) },
    },
  };
  const bench = createSimulatedBench({ station: patch, seed: Math.floor(2 ** 31 * random.uniform()) });
  const { nearMm, farMm } = station.task;
  const share = random.uniform();
  const workingDistanceMm = 1 / (share / nearMm + (1 - share) / farMm);
  bench.world.workingDistanceMm = workingDistanceMm;
  bench.world.lightRatio = meanLevel / meanLevelDn(station);
  const best = focalPowerAt({ model: trueLayout(station, bench.truth), workingDistanceMm });
  const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
  if (best.kind !== 'power' || best.focalPowerDpt < powerMinDpt || best.focalPowerDpt > powerMaxDpt) return null;
  const halfWidthDpt = focusHalfWidthDpt({ station, workingDistanceMm });
  const { widthPx, heightPx } = patch.parts.sensor;
  const size = Math.min(regionPx, widthPx, heightPx);
  return {
    meanLevelDn: meanLevel,
    halfWidthDpt,
    region: {
      xPx: (widthPx - size) >> 1,
      yPx: (heightPx - size) >> 1,
      widthPx: size,
      heightPx: size,
    },
    bench,
    async errorHalfWidths() {
      await bench.camera.clock.sleep(1000);
      await bench.camera.grab();
      const powers = bench.seenPowersDpt();
      const restingDpt = powers.reduce((sum, p) => sum + p, 0) / powers.length;
      return (restingDpt - best.focalPowerDpt) / halfWidthDpt;
    },
  };
}
