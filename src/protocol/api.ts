import { z } from 'zod';

/** A station as the server lists it. */
export const stationSummary = z.object({ name: z.string(), invented: z.boolean(), description: z.string() });

/** A station with its text, as kept in its file. */
export const stationText = z.object({ name: z.string(), yaml: z.string() });

/** What starts a rehearsal: the station's text as it stands in the page (changed values included) and a seed. */
export const rehearsalRequest = z.strictObject({
  yaml: z.string().min(1).max(200_000),
  seed: z.int().min(0).max(4294967295).optional(),
});

/** A started or finished run. */
export const runSummary = z.object({
  runId: z.string(),
  station: z.string(),
  state: z.enum(['running', 'complete', 'cancelled', 'failed']),
  reportUrl: z.string().nullable(),
  message: z.string(),
  /** The station's text as it was when the run began: what the readings belong to. */
  yaml: z.string(),
});

/** The parts library that a search chooses from, by kind; what each part says of itself is the station file's. */
export const partsAnswer = z.record(z.string(), z.array(z.looseObject({ name: z.string() })));

/** An error as it goes over the wire. */
export const apiError = z.object({ code: z.string(), message: z.string(), remedy: z.string() });

export type StationSummary = z.infer<typeof stationSummary>;
export type StationText = z.infer<typeof stationText>;
export type RehearsalRequest = z.infer<typeof rehearsalRequest>;
export type RunSummary = z.infer<typeof runSummary>;
export type ApiError = z.infer<typeof apiError>;
