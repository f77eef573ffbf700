import type { TunableLensPosition } from '../../optics/index.js';
import { type Light, type SearchLight, type Station, stationSchema } from '../../station/index.js';
import type { SearchSpace } from './search-space.js';

/** One layout of the space: parts by their place in the library, and settings. */
export interface Combination {
  sensorIndex: number;
  fixedLensIndex: number;
  tunableLensIndex: number;
  spacerIndex: number;
  tunableLensAt: TunableLensPosition;
  gapMm: number;
  fNumber: number;
  ringDistanceMm: number | null;
  exposureMs: number;
  /** At the middle of the range: the irradiance on the sensor is carried over to it. */
  middleFNumber: number;
}

/**
 * The station that a combination makes: the task as it stands, the light carried over to the layout's aperture.
 *
 * Formula  irradiance · (N_stated / N)², to four digits
 */
export function stationOfCombination(space: SearchSpace, at: Combination): Station {
  const { task, parts } = space;
  const tunableLens = parts.tunableLenses[at.tunableLensIndex]!;
  const chosen = {
    sensor: parts.sensors[at.sensorIndex]!,
    fixedLens: parts.fixedLenses[at.fixedLensIndex]!,
    tunableLens,
    spacer: parts.spacers[at.spacerIndex]!,
  };
  return stationSchema.parse({
    station: task.name,
    format: 1,
    invented: task.invented || Object.values(chosen).some(({ source }) => source.startsWith('invented')),
    task: task.task,
    parts: { ...chosen, light: lightAt(space, at.middleFNumber) },
    layout: {
      tunableLensAt: at.tunableLensAt,
      gapMm: at.gapMm,
      fNumber: at.fNumber,
      ringDistanceMm: at.ringDistanceMm,
    },
    controls: {
      exposureMs: at.exposureMs,
      parkPowerDpt: Math.min(tunableLens.powerMaxDpt, Math.max(tunableLens.powerMinDpt, 0)),
      compensateTemperature: task.compensateTemperature,
    },
    commissioning: task.commissioning,
    rehearsal: task.rehearsal,
  });
}

function lightAt({ light }: SearchSpace, middleFNumber: number): Light {
  const { measured: _, atFNumber: __, ...part } = light.part;
  const irradiance = irradianceAt(light, middleFNumber);
  const at = Number(light.workingFNumber.toPrecision(3));
  return {
    ...part,
    source: `${part.source}; irradiance carried over from a working f-number of ${at}`,
    sensorIrradianceUwPerCm2: Math.min(1e6, Math.max(1e-6, Number(irradiance.toPrecision(4)))),
  };
}

/** Irradiance on the sensor at another working f-number. */
export function irradianceAt({ irradianceUwPerCm2, workingFNumber }: SearchLight, wantedFNumber: number): number {
  return irradianceUwPerCm2 * (workingFNumber / wantedFNumber) ** 2;
}
