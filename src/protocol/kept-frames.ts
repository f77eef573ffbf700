import { z } from 'zod';

/** A folder of frames that the server can hand out: a handover, or a recording beside it. */
export const keptFolder = z.object({ name: z.string(), frames: z.number() });

/** What can be measured, and the version of the program that a result names. */
export const keptFoldersAnswer = z.object({ softwareVersion: z.string(), folders: z.array(keptFolder) });

/** One stored frame with what its table says. */
export const keptFrame = z.object({
  file: z.string(),
  url: z.string(),
  focalPowerDpt: z.number(),
  workingDistanceMm: z.number(),
  exposureMs: z.number().nullable(),
  simulated: z.boolean(),
  /** Power less that of best focus at the frame's distance; null where the folder does not know it. */
  offBestFocusDpt: z.number().nullable(),
});

/** Header of the newest frame: what the camera said of it, as URI-encoded JSON (LiveFrameFacts). */
export const frameFactsHeader = 'focuswright-frame';

/** What is known of a whole frame of the open camera. */
export interface LiveFrameFacts {
  frameId: number;
  focalPowerDpt: number;
  exposureMs: number | null;
  simulated: boolean;
  source: string;
}

export type KeptFolder = z.infer<typeof keptFolder>;
export type KeptFoldersAnswer = z.infer<typeof keptFoldersAnswer>;
export type KeptFrame = z.infer<typeof keptFrame>;
