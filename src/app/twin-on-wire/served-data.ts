import type { ServedCameraData } from '../../drivers/index.js';
import { softwareVersion } from '../version.js';
import type { ServeTwinRequest } from './serve-twin.js';

const exposureMinUs = 10;
const exposureMaxUs = 10_000_000;
const farthestMm = 1e6;
/** Step of a lens whose driver has none of its own. */
const finestStepDpt = 0.001;
/** Slope of a lens that is served with a current; round, and its range a usual one; common practice, no source. */
const perMaDpt = 0.02;

/** The simulated station as the camera that is served. */
export function servedData(request: ServeTwinRequest): ServedCameraData {
  const { station, serialNumber, initialiseFirst, lensDrive, focusAuto } = request;
  const { sensor, tunableLens } = station.parts;
  return {
    vendorName: 'Focuswright',
    modelName: `Simulated ${station.station}`.slice(0, 31),
    deviceVersion: softwareVersion,
    serialNumber,
    widthPx: sensor.widthPx,
    heightPx: sensor.heightPx,
    pixelPitchUm: sensor.pixelPitchUm,
    pixelFormats:
      sensor.bitDepth === 12 ? ['Mono12', 'Mono8'] : sensor.bitDepth === 10 ? ['Mono10', 'Mono8'] : ['Mono8'],
    exposureMinUs,
    exposureMaxUs,
    exposureUs: station.controls.exposureMs * 1000,
    frameRateHz: sensor.frameRateHz,
    lensModelName: `${tunableLens.name} (simulated)`,
    powerMinDpt: tunableLens.powerMinDpt,
    powerMaxDpt: tunableLens.powerMaxDpt,
    powerDpt: station.controls.parkPowerDpt,
    stepDpt: tunableLens.controlStepDpt || finestStepDpt,
    targetDistanceMm: (station.task.nearMm + station.task.farMm) / 2,
    targetDistanceMaxMm: farthestMm,
    lensCurrent: lensDrive === 'current' ? { perMaDpt, withoutCurrentDpt: tunableLens.powerMinDpt } : null,
    hasFocusAuto: focusAuto,
    mustInitialise: initialiseFirst,
  };
}

/** The nearest power that the lens driver can command. */
export function roundedPower(focalPowerDpt: number, { stepDpt, powerMinDpt, powerMaxDpt }: ServedCameraData): number {
  const rounded = Number((Math.round(focalPowerDpt / stepDpt) * stepDpt).toFixed(9));
  return Math.min(powerMaxDpt, Math.max(powerMinDpt, rounded));
}
