import { mmPerM } from '../base/index.js';
import { type FocusedDistance, focalPowerAt, type LayoutModel, workingDistanceAt } from '../optics/index.js';
import { type PlanRecord, powerLimitsOf, type Station } from '../station/index.js';
import { type PowerTolerance, powerTolerance } from './power-tolerance.js';

/** One end of the task's range against the limit of the station's powers on that side. */
export interface ReachEnd {
  name: 'near' | 'far';
  taskMm: number;
  /** Power that the task's end needs; null where no power focuses it. */
  neededPowerDpt: number | null;
  /** The limit on that side. */
  limitDpt: number;
  /** From the needed power to the limit; negative outside. */
  spareDpt: number | null;
  /** What the limit focuses. */
  atLimit: FocusedDistance;
  /** Standard deviation of the distance at the limit over built stations; null where it has none. */
  atLimitStdMm: number | null;
  tolerance: PowerTolerance | null;
}

export interface Reach {
  record: PlanRecord['reach'];
  near: ReachEnd;
  far: ReachEnd;
}

/**
 * What the station's powers reach, against the task's range.
 *
 * Model    paraxial layout as written; the limit that near needs is the one on near's side of far, so that layouts in
 *          which more power focuses farther are answered too
 * Returns  distances at the limits; a limit that focuses beyond infinity counts as infinity, one that focuses behind
 *          the front as 0 mm. Nothing is reached where both limits focus on the same side of all real objects.
 */
export function reachOf({ station, model }: { station: Station; model: LayoutModel }): Reach {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const { nearMm, farMm } = station.task;
  const powerFor = (workingDistanceMm: number) => {
    const found = focalPowerAt({ model, workingDistanceMm });
    return found.kind === 'power' ? found.focalPowerDpt : null;
  };
  const nearDpt = powerFor(nearMm);
  const farDpt = powerFor(farMm);
  const nearIsHigher = (nearDpt ?? 1) >= (farDpt ?? 0);
  const end = (name: 'near' | 'far', taskMm: number, neededPowerDpt: number | null): ReachEnd => {
    const high = (name === 'near') === nearIsHigher;
    const limitDpt = high ? powerMaxDpt : powerMinDpt;
    const spareDpt = neededPowerDpt === null ? null : high ? limitDpt - neededPowerDpt : neededPowerDpt - limitDpt;
    const atLimit = seenFromTask(
      workingDistanceAt({ model, focalPowerDpt: limitDpt }),
      neededPowerDpt === null ? null : workingDistanceAt({ model, focalPowerDpt: neededPowerDpt }),
    );
    const tolerance =
      neededPowerDpt === null
        ? null
        : powerTolerance({ station, model, workingDistanceMm: taskMm, powerDpt: neededPowerDpt });
    const towardsTask = limitDpt + (high ? -1 : 1) * (tolerance?.buildStdDpt ?? 0);
    const atLimitStdMm = distanceBetween(atLimit, workingDistanceAt({ model, focalPowerDpt: towardsTask }));
    return { name, taskMm, neededPowerDpt, limitDpt, spareDpt, atLimit, atLimitStdMm, tolerance };
  };
  const near = end('near', nearMm, nearDpt);
  const far = end('far', farMm, farDpt);
  return {
    near,
    far,
    record: { ...distancesReached(near, far), coveredShare: coveredShare(model, near, far), powerMinDpt, powerMaxDpt },
  };
}

/**
 * Which way a limit leaves the real objects: the image turns over where focus passes infinity, not where it passes the front.
 * Behind an image inside the layout, where all images stand the other way up, one limit alone cannot tell.
 */
function seenFromTask(atLimit: FocusedDistance, atTask: FocusedDistance | null): FocusedDistance {
  if (atLimit.kind === 'real' || atTask?.kind !== 'real') return atLimit;
  const { magnification } = atLimit;
  const turned = Math.sign(magnification) !== Math.sign(atTask.magnification);
  if (turned && atLimit.kind === 'behind-front') {
    return { kind: 'beyond-infinity', arrivingVergenceDpt: -mmPerM / atLimit.workingDistanceMm, magnification };
  }
  if (!turned && atLimit.kind === 'beyond-infinity') {
    return { kind: 'behind-front', workingDistanceMm: -mmPerM / atLimit.arrivingVergenceDpt, magnification };
  }
  return atLimit;
}

function distanceBetween(a: FocusedDistance, b: FocusedDistance): number | null {
  return a.kind === 'real' && b.kind === 'real' ? Math.abs(a.workingDistanceMm - b.workingDistanceMm) : null;
}

function distancesReached(
  near: ReachEnd,
  far: ReachEnd,
): Pick<PlanRecord['reach'], 'nearMm' | 'farMm' | 'farIsInfinite'> {
  const nothing = { nearMm: null, farMm: null, farIsInfinite: false };
  if (near.atLimit.kind === 'beyond-infinity' || far.atLimit.kind === 'behind-front') return nothing;
  const nearMm = Math.max(0, near.atLimit.workingDistanceMm);
  if (far.atLimit.kind === 'beyond-infinity') return { nearMm, farMm: null, farIsInfinite: true };
  return { nearMm, farMm: far.atLimit.workingDistanceMm, farIsInfinite: false };
}

/** Share of the task's range, in vergence from the mechanical front, that powers inside the limits focus. */
function coveredShare(model: LayoutModel, near: ReachEnd, far: ReachEnd): number {
  if (near.neededPowerDpt === null || far.neededPowerDpt === null) return 0;
  const low = Math.min(near.limitDpt, far.limitDpt);
  const high = Math.max(near.limitDpt, far.limitDpt);
  const ends = [near.neededPowerDpt, far.neededPowerDpt];
  if (Math.min(...ends) >= low && Math.max(...ends) <= high) return 1;
  if (Math.min(...ends) >= high || Math.max(...ends) <= low) return 0;
  const [nearest, farthest] = ends.map((powerDpt) => {
    const focus = workingDistanceAt({ model, focalPowerDpt: Math.min(high, Math.max(low, powerDpt)) });
    return focus.kind === 'real' ? 1 / focus.workingDistanceMm : 0;
  });
  const share = (nearest! - farthest!) / (1 / near.taskMm - 1 / far.taskMm);
  return Math.min(1, Math.max(0, share));
}
