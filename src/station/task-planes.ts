import type { Station } from './schema.js';

/** A distance that the plan looks at. */
export interface TaskPlane {
  /** `near`, `middle`, `far`, or `plane-1` … in the order of the task's list. */
  name: string;
  workingDistanceMm: number;
}

/** The task's own planes in their order, or without them near, middle and far. */
export function taskPlanesOf(station: Station): TaskPlane[] {
  const { planesMm, nearMm, farMm } = station.task;
  if (planesMm) return planesMm.map((workingDistanceMm, i) => ({ name: `plane-${i + 1}`, workingDistanceMm }));
  return [
    { name: 'near', workingDistanceMm: nearMm },
    { name: 'middle', workingDistanceMm: middleDistanceMm(station) },
    { name: 'far', workingDistanceMm: farMm },
  ];
}

/**
 * The distance midway between near and far in vergence: an object-side lens focuses it at the middle of its powers.
 *
 * Formula  2 / (1/near + 1/far)
 */
export function middleDistanceMm({ task }: Station): number {
  return 2 / (1 / task.nearMm + 1 / task.farMm);
}
