import { type LayoutModel, surfaceBulgeMm, traceSystem } from '../optics/index.js';
import type { Station, TunableLens } from '../station/index.js';
import type { PlannedPlane } from './planned-plane.js';
import { sharpnessAssumptions } from './sharpness-assumptions.js';
import { inWords } from './words.js';

/** Of the fluid in a tunable lens; common practice, no source. */
const assumedIndex = 1.3;

const strongestDpt = ({ powerMinDpt, powerMaxDpt }: TunableLens): number =>
  Math.max(Math.abs(powerMinDpt), Math.abs(powerMaxDpt));

/** What was assumed because the station file does not say it, or the model leaves out, each with its effect. */
export function assumptionsOf({
  station,
  model,
  planes,
  focalPowerDpt,
}: {
  station: Station;
  model: LayoutModel;
  planes: readonly PlannedPlane[];
  focalPowerDpt: number;
}): string[] {
  const { fixedLens, tunableLens, sensor } = station.parts;
  const list: string[] = [];
  if (fixedLens.pupilMagnification === undefined && !fixedLens.groups) {
    const at = (pupilMagnification: number) =>
      inWords(
        traceSystem({ model: { ...model, fixedLens: { ...model.fixedLens, pupilMagnification } }, focalPowerDpt })
          .workingFNumber,
      );
    list.push(
      `Pupil magnification of the fixed lens taken as 1: between 0.8 and 1.25 the working f-number would be ${at(0.8)} to ${at(1.25)}.`,
    );
  }
  if (fixedLens.frontToPrincipalMm === undefined && station.layout.tunableLensAt !== 'object-side') {
    list.push(
      `Front principal plane taken ${inWords(fixedLens.focalLengthMm / 2, 'mm')} behind the mechanical front (half the focal length): every working distance is off by as much as that is wrong.`,
    );
  }
  if (station.layout.tunableLensAt !== 'at-stop' && station.layout.gapMm === 0) {
    list.push(
      'Gap between tunable and fixed lens is 0 mm: thick lenses cannot touch at their planes; a real gap changes power and vignetting.',
    );
  }
  const bulgeMm = surfaceBulgeMm({
    refractiveIndex: assumedIndex,
    surfacePowerDpt: strongestDpt(tunableLens),
    apertureMm: tunableLens.clearApertureMm,
  });
  if (tunableLens.frontToPlaneMm < bulgeMm) {
    list.push(
      `Tunable lens thinner than its clear aperture demands: at ${inWords(strongestDpt(tunableLens), 'dpt')} its surface of ${inWords(tunableLens.clearApertureMm, 'mm')} bulges by ${inWords(bulgeMm, 'mm', 2)} (refractive index ${assumedIndex} assumed), but its plane is said to lie ${inWords(tunableLens.frontToPlaneMm, 'mm', 2)} behind its front: check frontToPlaneMm and clearApertureMm; every working distance is off by as much as frontToPlaneMm is wrong.`,
    );
  }
  list.push(...sharpnessAssumptions({ station, model, planes }));
  if (fixedLens.wavefrontErrorRmsWaves === 0 && tunableLens.wavefrontErrorRmsWaves === 0) {
    list.push('Lenses without wavefront error: real parts lower the contrast.');
  }
  if (tunableLens.temperatureCoefficientDptPerDegC === 0) {
    list.push('No drift of the tunable lens with temperature: if its datasheet gives none, measure it.');
  }
  if (tunableLens.tolerance.offsetDpt === 0 && tunableLens.tolerance.gainRelative === 0) {
    list.push('No tolerance of the tunable lens’s offset and gain: the margin of reach is optimistic.');
  }
  if (sensor.nonUniformity === 0)
    list.push('Sensor without photo response non-uniformity: the signal-to-noise ratio in bright light is optimistic.');
  list.push(
    'In the corner only the cut and the slope of the light cone count; field curvature, astigmatism, lateral colour and tilt of the sensor are left out and lower it further.',
  );
  return list;
}
