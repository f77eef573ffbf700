import { planSharpness, planStation } from '../planning/index.js';
import type { PlanRecord, SharpnessRecord } from '../station/index.js';
import type { LoadedStation } from './load-station.js';
import { softwareVersion } from './version.js';

/** Plans a loaded station: reach, planes, budget, verdict. */
export function runPlan({ station, sha256 }: Pick<LoadedStation, 'station' | 'sha256'>): PlanRecord {
  return planStation(station, { stationSha256: sha256, softwareVersion });
}

/** Sharpness, light and scale of a loaded station over field and distance. */
export function runSharpness({ station }: Pick<LoadedStation, 'station'>): SharpnessRecord {
  return planSharpness(station);
}
