import type { Station } from './schema.js';

/** Housing temperature from which a caution stands. A caution only: the thresholds are in ISO 13732-1. */
const warmHousingDegC = 43;

/**
 * Cautions that apply wherever this station is planned or commissioned.
 *
 * Trust    reminders, no statement of conformity: datasheets, local codes and licensed practice decide.
 * Source   IEC 62471 (risk groups), ISO 13732-1 (hot surfaces), ISO 12100 and IEC 60204-1 (machinery), their scope from memory
 */
export function stationCautions(station: Station): string[] {
  const { light } = station.parts;
  const { temperatureMaxDegC } = station.task;
  const invisible = light.wavelengthNm < 400 || light.wavelengthNm > 700;
  return [
    lightCautions[light.riskGroup],
    invisible &&
      `Light of ${light.wavelengthNm} nm is hardly visible: the eye does not turn away from it. Shield it, and assess it by IEC 62471.`,
    temperatureMaxDegC + station.rehearsal.warmUpDegC >= warmHousingDegC &&
      'Housings of lens, light and camera may be hot to touch (ISO 13732-1).',
    'The machine may move while the station is commissioned: stop it and lock it out before working inside its guards (ISO 12100, IEC 60204-1). Focus and light are no safety functions.',
  ].filter((caution) => typeof caution === 'string');
}

/** Cautions before a real camera is opened; without a station those that any may need. Source and trust as above. */
export function connectionCautions(station: Station | null): string[] {
  return [...(station ? stationCautions(station) : anyStation), lensAndSupply];
}

const lensAndSupply =
  'A lens held near its limit for long gets warm: keep to the maker’s datasheet. Power over Ethernet must have the class that camera and lens driver need (IEEE 802.3).';
const anyStation = [
  'Bright, ultraviolet or infrared light and lasers can harm eyes and skin (IEC 62471, IEC 60825-1): switch them on once nobody looks into them.',
  'Machines may move: stop them and lock them out before working inside their guards (ISO 12100, IEC 60204-1). Housings may be hot to touch (ISO 13732-1).',
];

const lightCautions: Record<Station['parts']['light']['riskGroup'], string | null> = {
  exempt: null,
  'risk-group-1':
    'The light is of risk group 1 (IEC 62471): no hazard in normal use; pulsed light needs its own assessment.',
  'risk-group-2': 'The light is of risk group 2 (IEC 62471): do not stare into it; shield it from the line of sight.',
  'risk-group-3':
    'The light is of risk group 3 (IEC 62471): hazardous even for a moment. Enclose it, with an interlock.',
  unknown:
    'The light’s risk group (IEC 62471) is not stated: take it from the lamp’s datasheet before working near it.',
};
