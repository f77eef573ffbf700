import type { CommissionRecord, PlanRecord, SharpnessRecord, Station } from '../../station/index.js';

/** A frame as a small picture for the reader. */
export interface FramePicture {
  /** Name of the evidence frame it shows. */
  file: string;
  /** `data:image/png;base64,…` */
  dataUri: string;
  /** Size of the frame itself, in whose pixels regions are given. */
  widthPx: number;
  heightPx: number;
}

/** What the report is made from. */
export interface HandoverInput {
  commission: CommissionRecord;
  plan: PlanRecord;
  sharpness: SharpnessRecord;
  station: Station;
  /** The station file as it was read. */
  stationYaml: string;
  /** ISO date the report is made on. */
  generatedOn: string;
  /** Pictures of the frames whose edges were measured; frames without one are shown by their numbers alone. */
  pictures: readonly FramePicture[];
}

/** Half-width that depth of field allows at a distance: that of the nearest planned plane, in vergence; null without. */
export function allowedHalfWidthDpt(plan: PlanRecord, workingDistanceMm: number): number | null {
  const planes = plan.planes.flatMap((plane) => {
    const budget = plan.budget.find((b) => b.plane === plane.name);
    return budget ? [{ away: Math.abs(1 / plane.workingDistanceMm - 1 / workingDistanceMm), budget }] : [];
  });
  planes.sort((a, b) => a.away - b.away);
  const allowed = planes[0]?.budget.allowedHalfWidthDpt ?? 0;
  return allowed > 0 ? allowed : null;
}

/** What a full run holds and this one does not, in words. */
export function missingParts({ autofocus, calibration, resolution, frames }: CommissionRecord): string[] {
  const read = new Set<string>(resolution.map(({ name }) => name));
  const unread = ['near', 'middle', 'far'].filter((name) => !read.has(name));
  return [
    ...(autofocus.length === 0 ? ['autofocus at the target distances'] : []),
    ...(calibration === null ? ['the distance calibration'] : []),
    ...(unread.length > 0 ? [`the resolution check at ${unread.join(', ')}`] : []),
    ...(frames.length === 0 ? ['stored frames'] : []),
  ];
}
