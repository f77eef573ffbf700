import type { Station } from './schema.js';

/** The focal powers a station may command: its own limits, inside those of the lens. */
export function powerLimitsOf(station: Station): { powerMinDpt: number; powerMaxDpt: number } {
  const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
  return {
    powerMinDpt: station.controls.powerMinDpt ?? powerMinDpt,
    powerMaxDpt: station.controls.powerMaxDpt ?? powerMaxDpt,
  };
}
