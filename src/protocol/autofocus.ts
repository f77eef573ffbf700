import { z } from 'zod';

const region = z.strictObject({
  xPx: z.int().min(0).max(100_000),
  yPx: z.int().min(0).max(100_000),
  widthPx: z.int().min(1).max(100_000),
  heightPx: z.int().min(1).max(100_000),
});

const scene = {
  /** `live`: the camera that is open in the page; `simulated`: the station in the page, with its target placed. */
  camera: z.enum(['simulated', 'live']).default('simulated'),
  /** The station's text as it stands in the page. */
  yaml: z.string().min(1).max(200_000),
  seed: z.int().min(0).max(4294967295),
  /** Where the target stands; a live camera's stands where it stands. */
  workingDistanceMm: z.number().positive().max(1e6),
};

const method = z.enum(['model', 'full-sweep', 'hill-climb', 'fibonacci', 'golden-section']);
const wantedRegion = z.union([region, z.literal('texture')]);

/** Asks what the camera sees; the simulated one with its lens parked. */
export const focusSceneRequest = z.strictObject(scene);

/** Asks for a search for focus, or with `parts` for one search after the other on parts that arrive. */
export const focusRunRequest = z.strictObject({
  ...scene,
  method,
  region: wantedRegion,
  parts: z
    .strictObject({
      count: z.int().min(1).max(10_000),
      /** Simulated: parts stand anywhere between, drawn by the seed. */
      nearMm: z.number().positive().max(1e6),
      farMm: z.number().positive().max(1e6),
      /** Whether the search is told where they stand. */
      isTold: z.boolean(),
    })
    .optional(),
});

/** A frame as the page shows it. */
export const focusPicture = z.object({ dataUri: z.string(), widthPx: z.number(), heightPx: z.number() });

/** Names a run that has begun. */
export const focusRunBegun = z.object({ runId: z.string(), powerMinDpt: z.number(), powerMaxDpt: z.number() });

export type FocusSceneRequest = z.input<typeof focusSceneRequest>;
export type FocusRunRequest = z.input<typeof focusRunRequest>;
export type FocusPicture = z.infer<typeof focusPicture>;
export type FocusRunBegun = z.infer<typeof focusRunBegun>;

/** What the records are that a run tells of. */
interface FocusRunRecords {
  region: unknown;
  probe: unknown;
  posterior: unknown;
  result: unknown;
  part: unknown;
  summary: unknown;
}

/** What a run tells while it goes, in order; the last is `ended`. */
export type FocusEvent<R extends FocusRunRecords> =
  | { type: 'region'; region: R['region'] }
  /** A frame of a search, the region as seen, and what is believed after it. `part`: null outside a run of parts. */
  | { type: 'frame'; part: number | null; probe: R['probe']; posterior: R['posterior'] | null; picture: FocusPicture }
  | { type: 'result'; result: R['result'] }
  /** The next part is waited for: POST …/part says that it is there. */
  | { type: 'waiting'; part: number }
  | { type: 'part'; part: R['part'] }
  | { type: 'summary'; summary: R['summary'] }
  | { type: 'ended'; state: 'complete' | 'cancelled' | 'failed'; message: string | null; lensDpt: number | null };
