import { type Station, type StationInput, stationSchema } from '../../src/station/index.js';

type DeepPartial<T> = { [K in keyof T]?: T[K] extends object | undefined ? DeepPartial<T[K]> : T[K] };

/** A station with some values replaced, checked again; lists are replaced whole. */
export function changed(station: Station, changes: DeepPartial<StationInput>): Station {
  return stationSchema.parse(merged(station, changes));
}

function merged(base: unknown, change: unknown): unknown {
  if (typeof base !== 'object' || base === null || typeof change !== 'object' || change === null) return change;
  if (Array.isArray(base) || Array.isArray(change)) return change;
  const result: Record<string, unknown> = { ...base };
  for (const [key, value] of Object.entries(change)) {
    result[key] = key in result ? merged(result[key], value) : value;
  }
  return result;
}
