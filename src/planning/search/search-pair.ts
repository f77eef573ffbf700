import { mmFromNm, mmFromUm } from '../../base/index.js';
import { gaussianSpectrum } from '../../optics/index.js';
import { type Station, wavefrontErrorRmsWavesOf } from '../../station/index.js';
import { focusBudgetOf } from '../focus-budget.js';
import type { PlannedPlane } from '../planned-plane.js';
import { type Combination, stationOfCombination } from './combination.js';
import type { ContrastStages } from './contrast-bound.fast.js';
import { marginsOf } from './margins.js';
import { type PairOptics, pairModel, pairOpticsOf } from './pair-optics.js';
import { type PlacedSetting, placedSettings } from './placed-settings.js';
import { type Margins, smallestMargin, stageMargin, stages } from './requirements.js';
import { fNumbersOf, type Placement, placementsOf, ringDistancesOf, type SearchSpace } from './search-space.js';
import type { SearchTally } from './search-tally.js';
import { pairFocusErrors, settingBounds } from './setting-bounds.js';

/** The best setting found for one choice of sensor, lenses and place. */
export interface FoundLayout {
  combination: Combination;
  margins: Margins;
  smallestMargin: number;
}

/** A setting that the bounds leave open, for one sensor. */
interface OpenSetting {
  /** The smallest margin is at most this. */
  bound: number;
  /** The same without the reach: of settings that reach alike, the one that promises more else comes first. */
  beyondReach: number;
  combination: Combination;
}

/** Margins that differ by less count as the same: bound and full prediction agree to rounding. */
const boundSlack = 1e-6;

/**
 * Searches every sensor, place, gap, spacer, f-number and ring distance of one pair of lenses.
 *
 * Model    a setting that misses a requirement by its bound is dropped; of the rest the full prediction is made in the
 *          order of the bounds, until no bound passes the best margin found. So nothing that could win is dropped
 * Returns  for each sensor and place the setting with the largest smallest margin, to a millionth, if that is at least
 *          `least`
 */
export function searchPair({
  space,
  fixedLensIndex,
  tunableLensIndex,
  least,
  tally,
}: {
  space: SearchSpace;
  fixedLensIndex: number;
  tunableLensIndex: number;
  least: number;
  tally: SearchTally;
}): FoundLayout[] {
  const fixedLens = space.parts.fixedLenses[fixedLensIndex]!;
  const tunableLens = space.parts.tunableLenses[tunableLensIndex]!;
  const rings = ringDistancesOf(fixedLens, space.ringCount);
  const stops = fNumbersOf(fixedLens);
  const first = stationOfCombination(space, {
    sensorIndex: 0,
    fixedLensIndex,
    tunableLensIndex,
    spacerIndex: 0,
    tunableLensAt: 'object-side',
    gapMm: 0,
    fNumber: fixedLens.fNumberMin,
    ringDistanceMm: null,
    exposureMs: 1,
    middleFNumber: space.light.workingFNumber,
  });
  const stations = space.parts.sensors.map((sensor): Station => ({ ...first, parts: { ...first.parts, sensor } }));
  const found: FoundLayout[] = [];
  for (const placement of placementsOf(fixedLens, tunableLens)) {
    const open: OpenSetting[][] = stations.map(() => []);
    for (const gapMm of placement.gapsMm) collectOpen(placement, gapMm, open);
    for (const settings of open) {
      const best = bestOf(space, settings, least, tally);
      if (best) found.push(best);
    }
  }
  return found;

  function collectOpen({ tunableLensAt, spacerMinMm }: Placement, gapMm: number, open: OpenSetting[][]): void {
    const station = stations[0]!;
    const optics = pairOpticsOf({ station, model: pairModel(station, gapMm, tunableLensAt) });
    const spacers = space.parts.spacers
      .map((spacer, spacerIndex) => ({ spacer, spacerIndex }))
      .filter(({ spacer }) => spacer.lengthMm >= spacerMinMm);
    const { settings, absentCount } = placedSettings({ station, optics, spacers, rings });
    const perSetting = stations.length * stops.length;
    tally.absent(absentCount * perSetting);
    const focusErrorsDpt = focusErrorsOf(station, optics);
    const reaching = settings.filter((setting) => {
      const margin = Math.min(setting.reachNear, setting.reachFar);
      if (margin >= least) return true;
      tally.missed({
        stage: 'reach',
        margin,
        count: perSetting,
        parts: { fixedLensIndex, tunableLensIndex, spacerIndex: setting.spacerIndex },
      });
      return false;
    });
    for (const [sensorIndex, ofSensor] of stations.entries()) {
      const contrastStages = contrastStagesOf(ofSensor);
      for (const setting of reaching) {
        const parts = { sensorIndex, fixedLensIndex, tunableLensIndex, spacerIndex: setting.spacerIndex };
        const field = fieldMargin(ofSensor, setting);
        const sampling = samplingMargin(ofSensor, setting);
        if (field < least || sampling < least) {
          const [stage, margin] = field < least ? (['field', field] as const) : (['sampling', sampling] as const);
          tally.missed({ stage, margin, count: stops.length, parts });
          continue;
        }
        for (const fNumber of stops) {
          const answer = settingBounds(
            { space, station: ofSensor, optics, setting, fNumber, stages: contrastStages, focusErrorsDpt },
            least,
          );
          if (answer.kind === 'missed') tally.missed({ stage: answer.stage, margin: answer.margin, count: 1, parts });
          else {
            const { bounds, exposureMs, middleFNumber } = answer;
            const beyondReach = Math.min(...Object.values(bounds), field, sampling);
            open[sensorIndex]!.push({
              bound: Math.min(beyondReach, setting.reachNear, setting.reachFar),
              beyondReach,
              combination: {
                ...parts,
                tunableLensAt,
                gapMm,
                fNumber,
                ringDistanceMm: setting.ringDistanceMm,
                exposureMs,
                middleFNumber,
              },
            });
          }
        }
      }
    }
  }
}

/** The full prediction in the order of the bounds, then of what else they promise. */
function bestOf(space: SearchSpace, settings: OpenSetting[], least: number, tally: SearchTally): FoundLayout | null {
  let best: FoundLayout | null = null;
  settings.sort((a, b) => b.bound - a.bound || b.beyondReach - a.beyondReach);
  for (const { bound, combination } of settings) {
    if (best && bound < best.smallestMargin + boundSlack && tally.isSpacerAccepted(combination.spacerIndex)) {
      tally.outranked(1);
      continue;
    }
    const margins = marginsOf(stationOfCombination(space, combination));
    tally.predicted();
    const { margin } = smallestMargin(margins);
    if (margin < least) {
      const stage = stages.find((name) => stageMargin(margins, name) < least)!;
      tally.missed({ stage, margin: stageMargin(margins, stage), count: 1, parts: combination });
      continue;
    }
    tally.accepted(combination);
    if (!best || margin > best.smallestMargin + boundSlack) best = { combination, margins, smallestMargin: margin };
  }
  return best;
}

/** Coloured light counts as its shortest wavelength without wavefront error: no mixture of them has more contrast. */
export function contrastStagesOf(station: Station): ContrastStages {
  const { light, sensor, fixedLens, tunableLens } = station.parts;
  const pixelPitchMm = mmFromUm(sensor.pixelPitchUm);
  const coloured = light.bandwidthNm > 0 && (tunableLens.abbeNumber !== undefined || fixedLens.axialColourUm !== 0);
  if (coloured) {
    const [shortest] = gaussianSpectrum({ ...light, count: 3 });
    return { wavelengthMm: mmFromNm(shortest!.wavelengthNm), pixelPitchMm, wavefrontErrorRmsWaves: 0, coloured };
  }
  const wavefrontErrorRmsWaves = wavefrontErrorRmsWavesOf(station);
  return { wavelengthMm: mmFromNm(light.wavelengthNm), pixelPitchMm, wavefrontErrorRmsWaves, coloured };
}

function fieldMargin({ task, parts: { sensor } }: Station, { largestMagnification }: PlacedSetting): number {
  const perPxMm = sensor.pixelPitchUm / 1000 / largestMagnification;
  return Math.min((sensor.widthPx * perPxMm) / task.fieldWidthMm, (sensor.heightPx * perPxMm) / task.fieldHeightMm) - 1;
}

function samplingMargin({ task, parts: { sensor } }: Station, { smallestMagnification }: PlacedSetting): number {
  return 1 - sensor.pixelPitchUm / 1000 / (task.smallestFeatureMm * smallestMagnification);
}

export function focusErrorsOf(station: Station, { planes }: PairOptics): number[] {
  return pairFocusErrors((distancePerPowerMmPerDpt) => {
    const plane = { prediction: { name: '' }, allowedHalfWidthDpt: 0, distancePerPowerMmPerDpt } as PlannedPlane;
    return focusBudgetOf({ station, plane }).rootSumSquareDpt;
  }, planes);
}
