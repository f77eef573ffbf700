import { mmFromUm } from '../../base/index.js';
import { chiefRayMagnification } from '../../optics/index.js';
import { layoutModelOf, type Station } from '../../station/index.js';
import type { FieldOfScene } from './chart.js';

/** The field that a station sees over its task and the powers of its lens; sizes the scenes. */
export function fieldOfScene(station: Station): FieldOfScene {
  const { sensor, tunableLens } = station.parts;
  const model = layoutModelOf(station);
  const sizes = [station.task.nearMm, station.task.farMm].flatMap((workingDistanceMm) =>
    [tunableLens.powerMinDpt, tunableLens.powerMaxDpt].map((focalPowerDpt) =>
      Math.abs(chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm })),
    ),
  );
  const pixelMm = mmFromUm(sensor.pixelPitchUm);
  const nearPixelMm = pixelMm / Math.max(...sizes);
  const farPixelMm = pixelMm / Math.min(...sizes);
  return {
    nearWidthMm: sensor.widthPx * nearPixelMm,
    nearHeightMm: sensor.heightPx * nearPixelMm,
    farWidthMm: sensor.widthPx * farPixelMm,
    farHeightMm: sensor.heightPx * farPixelMm,
    farPixelMm,
  };
}
