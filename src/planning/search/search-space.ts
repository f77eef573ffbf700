import { FocuswrightError, requireNumber } from '../../base/index.js';
import type { TunableLensPosition } from '../../optics/index.js';
import {
  type FixedLens,
  type PartsLibrary,
  partKindNames,
  partKinds,
  type SearchLight,
  type SearchTask,
  searchLightOf,
  type TunableLens,
} from '../../station/index.js';

/** All that is tried: the parts, and the settings of each. */
export interface SearchSpace {
  task: SearchTask;
  /** The task's own light, or the first of the library. */
  light: SearchLight;
  parts: Pick<PartsLibrary, 'sensors' | 'fixedLenses' | 'tunableLenses' | 'spacers'>;
  /** Distances of the focus ring that are tried besides the one that centres the task, infinity counted. */
  ringCount: number;
}

/** A place of the tunable lens with the gaps that its mount allows. */
export interface Placement {
  tunableLensAt: TunableLensPosition;
  gapsMm: number[];
  /** Shortest spacer that holds the tunable lens. */
  spacerMinMm: number;
}

/** Distances of the ring that are tried without a wish of the caller. */
const usualRingCount = 12;
/** Free length between the mounts of both lenses. Common practice, no source. */
const clearancesMm = [2, 6, 12];
/** From the mount to the sensor of a C-mount camera: where an image-side lens finds room. Common practice, no source. */
const flangeDistanceMm = 17.526;
/** Full stops as engraved. Common practice, no source. */
const fullStops = [1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22, 32, 45, 64];

/**
 * Puts a task and a library together.
 *
 * Throws   FocuswrightError `parts-missing` where a layout cannot be made of the library; RangeError for a ring count
 *          outside 1 … 1000.
 */
export function searchSpaceOf({
  task,
  parts,
  ringCount = usualRingCount,
}: {
  task: SearchTask;
  parts: PartsLibrary;
  ringCount?: number;
}): SearchSpace {
  requireNumber('ringCount', ringCount, { min: 1, max: 1000 });
  const light = task.light ?? parts.lights.map(searchLightOf).find((found) => found !== null) ?? null;
  const missing = partKindNames
    .filter((kind) => (kind === 'light' ? light === null : parts[partKinds[kind].list].length === 0))
    .map((kind) => `no ${partKinds[kind].words} (list ${partKinds[kind].list}; in a table, kind ${kind})`);
  if (light === null || missing.length > 0) throw new FocuswrightError('parts-missing', { missing });
  return { task, light, parts, ringCount };
}

/**
 * Places of the tunable lens beside a fixed lens, with the gaps that the mounts allow.
 *
 * Model    object-side: before the front of the fixed lens, with some clearance. Image-side: behind a C-mount, inside
 *          the spacer; the rear principal plane lies a focal length before the sensor when set to infinity. At the
 *          stop: only for lenses that are split there. The tunable lens is as deep behind its plane as before it.
 */
export function placementsOf(fixedLens: FixedLens, tunableLens: TunableLens): Placement[] {
  const depthMm = tunableLens.frontToPlaneMm;
  const toFrontMm = depthMm + (fixedLens.frontToPrincipalMm ?? fixedLens.focalLengthMm / 2);
  const behindMountMm = fixedLens.focalLengthMm - flangeDistanceMm + depthMm;
  const gaps = (startMm: number) => clearancesMm.map((mm) => tenths(startMm + mm)).filter((mm) => mm >= 0);
  const placements: Placement[] = [
    { tunableLensAt: 'object-side', gapsMm: gaps(toFrontMm), spacerMinMm: 0 },
    { tunableLensAt: 'image-side', gapsMm: gaps(behindMountMm), spacerMinMm: 2 * depthMm + clearancesMm[0]! },
  ];
  if (fixedLens.groups) placements.push({ tunableLensAt: 'at-stop', gapsMm: [0], spacerMinMm: 0 });
  return placements;
}

/** f-numbers that are tried: full stops inside the lens's range, and its ends. */
export function fNumbersOf({ fNumberMin, fNumberMax }: FixedLens): number[] {
  const inside = fullStops.filter((stop) => stop > fNumberMin && stop < fNumberMax);
  return [...new Set([fNumberMin, ...inside, fNumberMax])];
}

/** Nearest distance a focus ring is taken to reach: ten focal lengths, at least 100 mm. Common practice, no source. */
export const nearestRingMm = ({ focalLengthMm }: FixedLens): number => Math.max(100, 10 * focalLengthMm);

/** Ring distances that are tried: infinity, and evenly in vergence down to the nearest. */
export function ringDistancesOf(fixedLens: FixedLens, ringCount: number): (number | null)[] {
  const nearestMm = nearestRingMm(fixedLens);
  return Array.from({ length: ringCount }, (_, i) => (i === 0 ? null : threeDigits((nearestMm * (ringCount - 1)) / i)));
}

/** Combinations of the whole space: one more ring setting than the grid has, the one that centres the task. */
export function combinationCount(space: SearchSpace): number {
  const { sensors, fixedLenses, tunableLenses, spacers } = space.parts;
  let count = 0;
  for (const fixedLens of fixedLenses) {
    const settings = sensors.length * fNumbersOf(fixedLens).length * (space.ringCount + 1);
    for (const tunableLens of tunableLenses) {
      for (const { gapsMm, spacerMinMm } of placementsOf(fixedLens, tunableLens)) {
        count += settings * gapsMm.length * spacers.filter(({ lengthMm }) => lengthMm >= spacerMinMm).length;
      }
    }
  }
  return count;
}

const tenths = (mm: number) => Math.round(10 * mm) / 10;
export const threeDigits = (value: number): number => Number(value.toPrecision(3));
