/** Where a number came from: enough to compute it again. Kept beside every result. */
export interface Provenance {
  /** Name of the procedure, e.g. `distance-calibration`. */
  procedure: string;
  /** Every parameter that changes the result. */
  parameters: Record<string, unknown>;
  /** SHA-256 of each input, by name (station file, frames). */
  inputHashes: Record<string, string>;
  /** Device id with its kind: `sim:` simulated, `frames:` recorded, `genicam:` real. Never rewritten. */
  device: string;
  /** Seed of the random numbers, or null where none were drawn. */
  seed: number | null;
  softwareVersion: string;
}
