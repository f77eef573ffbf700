import { focalPowerAt, type LayoutModel } from '../../optics/index.js';
import { layoutModelOf, type PlanRecord, type Station } from '../../station/index.js';

/** One place of the predicted curve, with the powers at which the object there is still sharp. */
export interface CurvePlace {
  distanceMm: number;
  powerDpt: number;
  /** From power for the near limit of depth of field to that for the far one; null where it is not known. */
  sharpDpt: readonly [low: number, high: number] | null;
}

const curvePlaces = 96;

/** Evenly spaced in vergence over the shown distances; only where a power inside the lens's limits focuses. */
export function predictedCurve(station: Station, plan: PlanRecord): CurvePlace[] {
  const [nearest, farthest] = shownDistances(station, plan);
  const model = layoutModelOf(station);
  const halfWidths = halfWidthsOver(plan);
  return Array.from({ length: curvePlaces + 1 }, (_, i) => {
    const distanceMm = 1 / (1 / nearest + (i / curvePlaces) * (1 / farthest - 1 / nearest));
    return curvePlace(model, distanceMm, halfWidths);
  }).filter((place): place is CurvePlace => place !== null && withinLimits(place.powerDpt, plan));
}

function withinLimits(powerDpt: number, { reach }: PlanRecord): boolean {
  const slack = (reach.powerMaxDpt - reach.powerMinDpt) * 1e-6;
  return powerDpt >= reach.powerMinDpt - slack && powerDpt <= reach.powerMaxDpt + slack;
}

function curvePlace(
  model: LayoutModel,
  distanceMm: number,
  halfWidths: (distanceMm: number) => readonly [number, number] | null,
): CurvePlace | null {
  const power = focalPowerAt({ model, workingDistanceMm: distanceMm });
  if (power.kind === 'none') return null;
  const half = halfWidths(distanceMm);
  const powerDpt = power.focalPowerDpt;
  return { distanceMm, powerDpt, sharpDpt: half && [powerDpt - half[0], powerDpt + half[1]] };
}

/** What the horizontal axis shows: all that the task needs, and what the lens reaches up to about twice that. */
export function shownDistances({ task }: Station, { reach }: PlanRecord): [number, number] {
  const nearest = Math.max(task.nearMm * 0.5, Math.min(reach.nearMm ?? task.nearMm, task.nearMm * 0.95));
  const reachFar = reach.farIsInfinite ? Number.POSITIVE_INFINITY : (reach.farMm ?? task.farMm);
  return [nearest, Math.min(task.farMm * 1.6, Math.max(reachFar, task.farMm * 1.05))];
}

/** Depth of field by the task's contrast, in dpt below and above best focus, over distance. */
function halfWidthsOver(plan: PlanRecord): (distanceMm: number) => readonly [number, number] | null {
  const known = plan.planes
    .flatMap((plane) => {
      const depth = plane.depthOfField.taskContrast;
      if (depth === null || !(plane.workingDistanceMm > 0)) return [];
      return [
        {
          vergence: 1 / plane.workingDistanceMm,
          low: Math.abs(depth.nearHalfWidthDpt),
          high: Math.abs(depth.farHalfWidthDpt),
        },
      ];
    })
    .filter(({ low, high }) => Number.isFinite(low) && Number.isFinite(high))
    .sort((a, b) => a.vergence - b.vergence);
  return (distanceMm) => {
    if (known.length === 0) return null;
    const vergence = 1 / distanceMm;
    const after = known.findIndex((k) => k.vergence >= vergence);
    if (after <= 0) {
      const end = known[after === 0 ? 0 : known.length - 1]!;
      return [end.low, end.high];
    }
    const [a, b] = [known[after - 1]!, known[after]!];
    const t = b.vergence > a.vergence ? (vergence - a.vergence) / (b.vergence - a.vergence) : 0;
    return [a.low + t * (b.low - a.low), a.high + t * (b.high - a.high)];
  };
}
