import { type CancelSignal, neverCancelled, throwIfCancelled } from '../base/index.js';
import { toleranceRun } from '../planning/index.js';
import type { ToleranceRecord } from '../station/index.js';
import type { LoadedStation } from './load-station.js';
import { softwareVersion } from './version.js';

/** Stations built between two looks at the cancel signal: some tens of milliseconds. */
const stationsAtOnce = 250;

/**
 * Builds a loaded station many times within its tolerances.
 *
 * Throws   `cancelled`; RangeError for a seed or a number of stations out of range.
 */
export async function runTolerance(
  { station, sha256 }: Pick<LoadedStation, 'station' | 'sha256'>,
  {
    stationCount,
    seed,
    onProgress,
    signal = neverCancelled,
  }: {
    stationCount: number;
    seed: number;
    onProgress?: (doneCount: number) => void;
    signal?: CancelSignal;
  },
): Promise<ToleranceRecord> {
  const run = toleranceRun({ station, stationCount, seed });
  while (run.doneCount < stationCount) {
    run.advance(stationsAtOnce);
    onProgress?.(run.doneCount);
    await new Promise((resolve) => setImmediate(resolve));
    throwIfCancelled(signal, 'building stations');
  }
  return run.record({ stationSha256: sha256, softwareVersion });
}
