import type { Station } from '../../station/index.js';
import { inWords, percent } from '../words.js';

/** What the Monte Carlo assumes, with its effect where there is a number. */
export function toleranceAssumptions({ parts, layout, controls, task }: Station): string[] {
  const { fixedLens, tunableLens, light } = parts;
  const list = [
    'Deviations are independent and normal, with the 1σ of the station file; none is sorted out by inspection.',
    `A plane must be sharp from ${task.temperatureMinDegC} to ${task.temperatureMaxDegC} °C, two standard deviations of repeatability, control step and hysteresis included${controls.compensateTemperature ? '; its power is corrected by the lens’s temperature reading' : ''}.`,
    'Before a calibration each power is commanded as the layout as written asks.',
    `Tolerances that a file leaves out: gap ${inWords(layout.tolerance.gapMm, 'mm')}, f-number ${percent(fixedLens.tolerance.fNumberRelative)}, wavefront errors ${percent(fixedLens.tolerance.wavefrontErrorRelative)} and ${percent(tunableLens.tolerance.wavefrontErrorRelative)}, irradiance ${percent(light.tolerance.irradianceRelative)} here; the defaults are common practice, no source.`,
    'Colour and coma lower the contrast, and the corner’s stays below the axis’s, by the share that the plan says for the layout as written.',
    'Exposure stays as written; tilt of the sensor, decentring and the lens’s timing are not toleranced.',
  ];
  if (tunableLens.tolerance.offsetDpt === 0 && tunableLens.tolerance.gainRelative === 0) {
    list.push('No tolerance of the tunable lens’s offset and gain: the shares before a calibration are optimistic.');
  }
  return list;
}
