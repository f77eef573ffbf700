import type { Frame } from '../devices/index.js';

/** A kept frame with the distance its target stood at. */
export interface FrameRow {
  file: string;
  frame: Frame;
  workingDistanceMm: number;
  /** What it was taken for: sweep, resolution … */
  purpose: string;
}

/** The table of kept frames, in the form that the recorded-frames driver reads. */
export function framesCsv(rows: readonly FrameRow[]): string {
  const header = 'order,file,focalPowerDpt,workingDistanceMm,temperatureDegC,exposureMs,exposedAtMs,purpose,source';
  const lines = rows.map(({ file, frame, workingDistanceMm, purpose }, i) =>
    [
      i + 1,
      file,
      frame.focalPowerDpt,
      workingDistanceMm,
      frame.temperatureDegC,
      frame.exposureMs,
      frame.exposedAtMs,
      purpose,
      frame.source,
    ]
      .map((cell) => cell ?? '')
      .join(','),
  );
  return `${[header, ...lines].join('\n')}\n`;
}
