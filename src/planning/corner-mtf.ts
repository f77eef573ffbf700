import { mmFromUm } from '../base/index.js';
import { type BlurStages, fieldMtf, fieldPupil, type LayoutModel } from '../optics/index.js';
import type { Station } from '../station/index.js';

/** From the middle of the sensor to its corner. */
export function cornerHeightMm({ parts: { sensor } }: Station): number {
  return mmFromUm(sensor.pixelPitchUm) * (Math.hypot(sensor.widthPx, sensor.heightPx) / 2);
}

/** MTF in focus at an image height, for the worse of lines across and along the radius; see fieldMtf. */
export function worseMtfAt({
  model,
  focalPowerDpt,
  imageHeightMm,
  spatialFrequencyPerMm,
  stages,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  imageHeightMm: number;
  spatialFrequencyPerMm: number;
  stages: BlurStages;
}): number {
  const pupil = fieldPupil({ model, focalPowerDpt, imageHeightMm });
  const at = { pupil, spatialFrequencyPerMm, defocusWaves: 0, ...stages };
  return Math.min(fieldMtf({ ...at, lines: 'tangential' }), fieldMtf({ ...at, lines: 'sagittal' }));
}
