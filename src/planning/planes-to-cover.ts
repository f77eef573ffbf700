import type { PlannedPlane } from './planned-plane.js';
import type { Reach } from './reach.js';

/**
 * Planes needed so that the whole range of the task lies in the depth of field of one of them, edge to edge.
 *
 * Model    depth of field in dpt between the planned planes by straight line over power, beyond them constant
 * Formula  ⌈∫ dP / width(P)⌉ over the powers from far to near, trapezoids between the planes
 * Returns  null where a plane has no depth of field by task contrast, or the ends need no power.
 * Trust    without overlap; focus error eats into the edges: see the focus budget.
 */
export function planesToCover({ reach, planes }: { reach: Reach; planes: readonly PlannedPlane[] }): number | null {
  const { near, far } = reach;
  if (near.neededPowerDpt === null || far.neededPowerDpt === null) return null;
  const known: { powerDpt: number; perDpt: number }[] = [];
  for (const { prediction, allowedHalfWidthDpt } of planes) {
    if (prediction.neededPowerDpt === null || allowedHalfWidthDpt === 0) return null;
    const depth = prediction.depthOfField.taskContrast;
    const widthDpt = depth ? depth.nearHalfWidthDpt + depth.farHalfWidthDpt : 2 * allowedHalfWidthDpt;
    known.push({ powerDpt: prediction.neededPowerDpt, perDpt: 1 / widthDpt });
  }
  known.sort((a, b) => a.powerDpt - b.powerDpt);
  const low = Math.min(near.neededPowerDpt, far.neededPowerDpt);
  const high = Math.max(near.neededPowerDpt, far.neededPowerDpt);
  const points = [
    { powerDpt: low, perDpt: known[0]!.perDpt },
    ...known,
    { powerDpt: high, perDpt: known.at(-1)!.perDpt },
  ];
  let planesNeeded = 0;
  for (let i = 1; i < points.length; i++) {
    const [a, b] = [points[i - 1]!, points[i]!];
    planesNeeded += (Math.max(0, b.powerDpt - a.powerDpt) * (a.perDpt + b.perDpt)) / 2;
  }
  return Math.max(1, Math.ceil(planesNeeded - 1e-9));
}
