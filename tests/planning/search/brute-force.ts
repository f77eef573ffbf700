import { focalPowerAt, traceSystem } from '../../../src/optics/index.js';
import type { SearchSpace } from '../../../src/planning/index.js';
import { type Combination, irradianceAt, stationOfCombination } from '../../../src/planning/search/combination.js';
import { searchExposureMs } from '../../../src/planning/search/exposure.js';
import { marginsOf } from '../../../src/planning/search/margins.js';
import { type Margins, smallestMargin } from '../../../src/planning/search/requirements.js';
import { fNumbersOf, nearestRingMm, placementsOf, ringDistancesOf } from '../../../src/planning/search/search-space.js';
import { layoutModelOf, middleDistanceMm, taskPlanesOf } from '../../../src/station/index.js';

/** A combination with its margins from the full prediction. */
export interface Tried {
  choice: string;
  combination: Combination;
  margins: Margins;
  smallest: number;
}

/** Every combination of a space, predicted in full: slow, and without any bound. */
export function everyCombination(space: SearchSpace): Tried[] {
  const { sensors, fixedLenses, tunableLenses, spacers } = space.parts;
  const tried: Tried[] = [];
  for (const [fixedLensIndex, fixedLens] of fixedLenses.entries())
    for (const [tunableLensIndex, tunableLens] of tunableLenses.entries())
      for (const { tunableLensAt, gapsMm, spacerMinMm } of placementsOf(fixedLens, tunableLens))
        for (const gapMm of gapsMm)
          for (const [sensorIndex] of sensors.entries())
            for (const [spacerIndex, { lengthMm }] of spacers.entries())
              if (lengthMm >= spacerMinMm)
                for (const fNumber of fNumbersOf(fixedLens)) {
                  const at = {
                    sensorIndex,
                    fixedLensIndex,
                    tunableLensIndex,
                    spacerIndex,
                    tunableLensAt,
                    gapMm,
                    fNumber,
                  };
                  for (const ringDistanceMm of [
                    ...ringDistancesOf(fixedLens, space.ringCount),
                    ...centring(space, at),
                  ]) {
                    const combination = withExposure(space, { ...at, ringDistanceMm });
                    if (!combination) continue;
                    const margins = marginsOf(stationOfCombination(space, combination));
                    const choice = [fixedLensIndex, tunableLensIndex, tunableLensAt, sensorIndex].join(' ');
                    tried.push({ choice, combination, margins, smallest: smallestMargin(margins).margin });
                  }
                }
  return tried;
}

type Unexposed = Omit<Combination, 'exposureMs' | 'middleFNumber'>;

/** Exposure and aperture from the traced system, as the search gives them; null where a plane has no focus. */
function withExposure(space: SearchSpace, at: Unexposed): Combination | null {
  const station = stationOfCombination(space, { ...at, exposureMs: 1, middleFNumber: space.light.workingFNumber });
  const model = layoutModelOf(station);
  const traced = (workingDistanceMm: number) => {
    const power = focalPowerAt({ model, workingDistanceMm });
    return power.kind === 'none' ? null : traceSystem({ model, focalPowerDpt: power.focalPowerDpt });
  };
  const systems = taskPlanesOf(station).map(({ workingDistanceMm }) => traced(workingDistanceMm));
  const middle = traced(middleDistanceMm(station));
  if (!middle || systems.includes(null)) return null;
  const exposureMs = searchExposureMs({
    station,
    largestMagnification: Math.max(...systems.map((system) => Math.abs(system!.magnification))),
    brightestUwPerCm2: irradianceAt(space.light, Math.min(...systems.map((system) => system!.workingFNumber))),
    planeCount: systems.length,
  });
  return { ...at, exposureMs, middleFNumber: middle.workingFNumber };
}

/** The ring distance that centres the task, found by halving on the prediction itself; none where the ring has none. */
function centring(space: SearchSpace, at: Omit<Unexposed, 'ringDistanceMm'>): number[] {
  const fixedLens = space.parts.fixedLenses[at.fixedLensIndex]!;
  const offCentreDpt = (ringDistanceMm: number) => {
    const station = stationOfCombination(space, { ...at, ringDistanceMm, exposureMs: 1, middleFNumber: 4 });
    const model = layoutModelOf(station);
    const needed = [station.task.nearMm, station.task.farMm].map((workingDistanceMm) => {
      const power = focalPowerAt({ model, workingDistanceMm });
      return power.kind === 'power' ? power.focalPowerDpt : Number.NaN;
    });
    const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
    return (needed[0]! + needed[1]! - powerMinDpt - powerMaxDpt) / 2;
  };
  let [low, high] = [1 / 100_000, 1 / nearestRingMm(fixedLens)];
  const atLow = offCentreDpt(1 / low);
  if (!(atLow * offCentreDpt(1 / high) < 0)) return [];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (offCentreDpt(1 / middle) * atLow > 0) low = middle;
    else high = middle;
  }
  return [Number((1 / low).toPrecision(3))];
}
