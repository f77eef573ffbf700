import { type Station, stationCautions } from '../station/index.js';
import type { PlannedPlane } from './planned-plane.js';
import { inWords } from './words.js';

/** From this share of a power limit on, holding the lens there is worth a caution. */
const nearLimitFraction = 0.9;

/** Cautions that apply to this station. Aids to judgement: datasheets, local codes and licensed practice decide. */
export function cautionsOf({ station, planes }: { station: Station; planes: readonly PlannedPlane[] }): string[] {
  const { tunableLens } = station.parts;
  const list = stationCautions(station);
  const held = planes.flatMap(({ prediction }) => prediction.focalPowerDpt ?? []);
  const closest = held.filter(
    (powerDpt) =>
      (powerDpt > 0 && powerDpt > nearLimitFraction * tunableLens.powerMaxDpt) ||
      (powerDpt < 0 && powerDpt < nearLimitFraction * tunableLens.powerMinDpt),
  );
  if (closest.length > 0) {
    list.push(
      `The tunable lens is held at ${closest.map((powerDpt) => inWords(powerDpt, 'dpt')).join(', ')}, near its limit: sustained current warms it. Keep to the maker’s datasheet.`,
    );
  }
  if (station.task.temperatureMaxDegC > tunableLens.temperatureMaxDegC) {
    list.push(
      `The lens may reach ${station.task.temperatureMaxDegC} °C, its highest allowed temperature is ${tunableLens.temperatureMaxDegC} °C. Cool it or choose another.`,
    );
  }
  return list;
}
