import { z } from 'zod';

const region = z.object({
  xPx: z.int().min(0).max(100_000),
  yPx: z.int().min(0).max(100_000),
  widthPx: z.int().min(1).max(100_000),
  heightPx: z.int().min(1).max(100_000),
});

const scene = {
  /** The station's text as it stands in the page. */
  yaml: z.string().min(1).max(200_000),
  seed: z.int().min(0).max(4294967295),
  /** Where the target stands. */
  workingDistanceMm: z.number().positive().max(1e6),
};

/** Asks what the simulated camera sees with its lens parked. */
export const focusSceneRequest = z.strictObject(scene);

/** Asks for a search for focus on the simulated camera. */
export const focusSearchRequest = z.strictObject({
  ...scene,
  method: z.enum(['model', 'full-sweep', 'hill-climb', 'fibonacci', 'golden-section']),
  region,
});

/** A frame as the page shows it. */
export const focusPicture = z.object({ dataUri: z.string(), widthPx: z.number(), heightPx: z.number() });

/** A search that has ended: its result, and for each frame the region as seen and what was believed after it. */
export const focusSearchAnswer = z.object({
  /** An AutofocusResult. */
  result: z.looseObject({ kind: z.enum(['found', 'refused']) }),
  frames: z.array(
    z.object({
      picture: focusPicture,
      posterior: z.object({ focalPowersDpt: z.array(z.number()), densitiesPerDpt: z.array(z.number()) }).nullable(),
    }),
  ),
  powerMinDpt: z.number(),
  powerMaxDpt: z.number(),
});

export type FocusSceneRequest = z.infer<typeof focusSceneRequest>;
export type FocusSearchRequest = z.infer<typeof focusSearchRequest>;
export type FocusPicture = z.infer<typeof focusPicture>;
export type FocusSearchAnswer = z.infer<typeof focusSearchAnswer>;
