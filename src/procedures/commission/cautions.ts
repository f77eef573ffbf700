import { type Station, stationCautions } from '../../station/index.js';

/** Share of the lens's largest power at which a sustained command warms it noticeably; common practice, no source. */
const warmShare = 0.8;

/** Cautions that apply while this station is commissioned. They are reminders, no statement of conformity. */
export function commissionCautions({ station, simulated }: { station: Station; simulated: boolean }): string[] {
  const { powerMaxDpt, powerMinDpt } = station.parts.tunableLens;
  const strongest = Math.max(Math.abs(powerMaxDpt), Math.abs(powerMinDpt));
  return [
    simulated && 'Simulated station: these numbers rehearse the job and say nothing about a real installation.',
    simulated &&
      'The simulated station blurs its whole field as the centre: what the plan predicts of contrast in the corner cannot be rehearsed, only its loss of light.',
    ...stationCautions(station),
    Math.abs(station.controls.parkPowerDpt) > warmShare * strongest &&
      'The park power is near the lens’s limit: a sustained current warms lens and housing (ISO 13732-1); see the datasheet.',
    'Numbers are aids to an engineer’s judgement; local codes, the makers’ datasheets and licensed practice decide.',
  ].filter((caution) => typeof caution === 'string');
}
