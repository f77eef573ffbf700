import { mmFromNm, mmFromUm, mmPerM } from '../../base/index.js';
import { type ColourLine, layoutSpectrum, stepSettlingTimeMs } from '../../optics/index.js';
import type { Station, TunableLens } from '../../station/index.js';
import { coverageFactor } from '../focus-rows.js';
import { frameAfterMoveMs, settledToleranceDpt } from '../lens-move.js';
import { predictedLight } from '../plane-light.js';
import { irradianceAt } from './combination.js';
import { type ContrastStages, contrastBound } from './contrast-bound.fast.js';
import { searchExposureMs } from './exposure.js';
import { defocusWavesAtShare } from './focus-width.js';
import { cornerShare, type PairAperture, pairAperture, pairPupil } from './pair-aperture.js';
import { type ObjectPlane, type PairOptics, sensorPowerPerMm } from './pair-optics.js';
import type { PlacedSetting } from './placed-settings.js';
import type { Stage } from './requirements.js';
import type { SearchSpace } from './search-space.js';

/** A pair of lenses, a spacer and a ring setting, a sensor and an f-number, asked for its margins one after the other. */
export interface SettingAtStop {
  space: SearchSpace;
  /** Task, sensor, both lenses and light; layout and spacer count for nothing here. */
  station: Station;
  optics: PairOptics;
  setting: PlacedSetting;
  fNumber: number;
  stages: ContrastStages;
  /** 2 σ of the focus error at each plane; see pairFocusErrors. */
  focusErrorsDpt: readonly number[];
}

/** What the bounds make of a setting: all stages passed, or the first that is missed. */
export type SettingBounds =
  | { kind: 'open'; bounds: StageBounds; exposureMs: number; middleFNumber: number }
  | { kind: 'missed'; stage: Stage; margin: number };

/** Each at least as large as the margin of the full prediction; the cycle's only where it is the smallest. */
export type StageBounds = Record<'cornerLight' | 'contrast' | 'focus' | 'signalToNoise' | 'cycle', number>;

/** Rounding of the light in the station file, and of differences in the full prediction. */
const lightSlack = 1.002;
/** No transfer function of a defocused pupil comes back above this after its first zero. */
const sideLobe = 0.14;

/**
 * Contrast, corner light, focus budget, signal-to-noise ratio and cycle of a setting, each at least as large as the
 * margin of the full prediction; stops at the first below `least`.
 *
 * Model    contrast, half-width and light at the paraxial aperture. Coloured light: as wide as its widest wavelength with
 *          its own focus. Cycle: settling to that width
 * Checked  property: never below marginsOf, tests/planning/search/setting-bounds.test.ts
 */
export function settingBounds(at: SettingAtStop, least: number): SettingBounds {
  const { space, station, optics, setting, fNumber } = at;
  const { task } = station;
  const { planes } = optics;
  const apertures = planes.map((plane) => pairAperture(optics, setting.sensorMm, plane, fNumber));
  const cornerLight = cornerAt(station, apertures) / task.cornerIlluminationNeeded - 1;
  if (!(cornerLight >= least)) return { kind: 'missed', stage: 'cornerLight', margin: cornerLight };

  const exposureMs = searchExposureMs({
    station,
    largestMagnification: setting.largestMagnification,
    brightestUwPerCm2: irradianceAt(space.light, Math.min(...apertures.map(({ workingFNumber }) => workingFNumber))),
    planeCount: planes.length,
  });
  const mtfs = planes.map((plane, k) => contrastAt(at, plane, apertures[k]!, exposureMs));
  const contrast = Math.min(...mtfs) / task.contrastNeeded - 1;
  if (!(contrast >= least)) return { kind: 'missed', stage: 'contrast', margin: contrast };

  const widths = halfWidths(at, apertures, mtfs, exposureMs);
  const focus = Math.min(...widths.map((widthDpt, k) => 1 - at.focusErrorsDpt[k]! / widthDpt));
  if (!(focus >= least)) return { kind: 'missed', stage: 'focus', margin: focus };

  const signalToNoise = lightAt(at, apertures, exposureMs);
  if (!(signalToNoise >= least)) return { kind: 'missed', stage: 'signalToNoise', margin: signalToNoise };

  const cycle = cycleAt(at, widths, exposureMs, Math.min(cornerLight, contrast, focus, signalToNoise));
  if (!(cycle >= least)) return { kind: 'missed', stage: 'cycle', margin: cycle };
  const bounds = { cornerLight, contrast, focus, signalToNoise, cycle };
  const { workingFNumber: middleFNumber } = pairAperture(optics, setting.sensorMm, optics.middle, fNumber);
  return { kind: 'open', bounds, exposureMs, middleFNumber };
}

const magnificationAt = ({ leverMm }: PlacedSetting, { heightMm }: ObjectPlane) => Math.abs(leverMm / heightMm);

function frequencyAt({ station, setting }: SettingAtStop, plane: ObjectPlane): number {
  return 1 / (2 * station.task.smallestFeatureMm * magnificationAt(setting, plane));
}

function contrastAt(
  { stages, station, setting }: SettingAtStop,
  plane: ObjectPlane,
  { workingFNumber }: PairAperture,
  exposureMs: number,
): number {
  const magnification = magnificationAt(setting, plane);
  const frequencyPerMm = 1 / (2 * station.task.smallestFeatureMm * magnification);
  const smearMm = (station.task.speedMmPerS * exposureMs * magnification) / 1000;
  return contrastBound(stages, frequencyPerMm, workingFNumber, smearMm);
}

function cornerAt({ parts: { sensor } }: Station, apertures: readonly PairAperture[]): number {
  const cornerMm = mmFromUm(Math.hypot(sensor.widthPx, sensor.heightPx) * sensor.pixelPitchUm) / 2;
  return Math.min(...apertures.map((aperture) => cornerShare(aperture, cornerMm)));
}

/**
 * Half-width of the depth of field at each plane, in dpt of the tunable lens; never too small.
 *
 * Model    contrastHalfWidthDpt, with the marginal ray's height at the tunable lens from the entrance pupil
 */
function halfWidths(
  at: SettingAtStop,
  apertures: readonly PairAperture[],
  mtfs: readonly number[],
  exposureMs: number,
): number[] {
  const { station, optics, setting } = at;
  const { task, parts } = station;
  const lambdaMm = mmFromNm(parts.light.wavelengthNm);
  return optics.planes.map((plane, k) => {
    const aperture = apertures[k]!;
    const lines = at.stages.coloured ? colourLines(at, plane) : null;
    if (lines && task.contrastNeeded < sideLobe) return Number.POSITIVE_INFINITY;
    const s = lambdaMm * aperture.workingFNumber * frequencyAt(at, plane);
    const waves = lines
      ? Math.max(...lines.map((line) => widthOfLine(at, plane, aperture, exposureMs, line)))
      : defocusWavesAtShare(s, task.contrastNeeded / mtfs[k]!);
    const pupil = pairPupil(optics, setting.sensorMm, plane, aperture);
    const halfAngle = pupil.diameterMm / 2 / (plane.distanceMm - pupil.beforeFirstPlaneMm);
    return (mmPerM * 2 * lambdaMm * waves) / (halfAngle * plane.heightMm) ** 2;
  });
}

/** The light's wavelengths with their focuses, at the power that focuses a plane. */
function colourLines({ station, optics, setting }: SettingAtStop, plane: ObjectPlane): readonly ColourLine[] {
  const { fixedLens, tunableLens, light } = station.parts;
  const spacerMm = setting.sensorMm - optics.model.fixedLens.focalLengthMm;
  return layoutSpectrum({
    model: { ...optics.model, ringDistanceMm: null, spacerMm },
    focalPowerDpt: mmPerM * (sensorPowerPerMm(optics.after, setting.sensorMm) + plane.slopePerMm),
    wavelengthNm: light.wavelengthNm,
    bandwidthNm: light.bandwidthNm,
    abbeNumber: tunableLens.abbeNumber ?? null,
    axialColourUm: fixedLens.axialColourUm,
  });
}

/** Defocus, in waves of the centre, beyond which one wavelength by itself has less than the contrast needed. */
function widthOfLine(
  at: SettingAtStop,
  plane: ObjectPlane,
  aperture: PairAperture,
  exposureMs: number,
  { wavelengthNm, focusShiftMm }: ColourLine,
): number {
  const { station } = at;
  const wavelengthMm = mmFromNm(wavelengthNm);
  const centreMm = mmFromNm(station.parts.light.wavelengthNm);
  const ofLine = { ...at, stages: { ...at.stages, wavelengthMm } };
  const share = station.task.contrastNeeded / contrastAt(ofLine, plane, aperture, exposureMs);
  const s = wavelengthMm * aperture.workingFNumber * frequencyAt(at, plane);
  const shiftWaves = Math.abs(focusShiftMm) / (8 * centreMm * aperture.workingFNumber ** 2);
  return (defocusWavesAtShare(s, share) * wavelengthMm) / centreMm + shiftWaves;
}

function lightAt({ space, station }: SettingAtStop, apertures: readonly PairAperture[], exposureMs: number): number {
  const darkest = Math.max(...apertures.map(({ workingFNumber }) => workingFNumber));
  const relativeIrradiance = (lightSlack * irradianceAt(space.light, darkest)) / space.light.irradianceUwPerCm2;
  const { signalToNoise } = predictedLight({ station, relativeIrradiance, exposureMs });
  return signalToNoise / station.task.signalToNoiseNeeded - 1;
}

/** Margin of the cycle; where even settling by its envelope leaves more than `enough`, that of the envelope. */
function cycleAt(at: SettingAtStop, widths: readonly number[], exposureMs: number, enough: number): number {
  const { tunableLens } = at.station.parts;
  const quick = cycleMargin(at, widths, exposureMs, (fraction) => envelopeSettlingMs(tunableLens, fraction));
  if (quick >= enough) return quick;
  return cycleMargin(at, widths, exposureMs, (fraction) => stepSettlingTimeMs({ fraction, ...tunableLens }));
}

/** When the envelope of a ringing step has fallen to a fraction: never before it has settled. Null where nothing rings. */
function envelopeSettlingMs(
  { naturalFrequencyHz, dampingRatio, deadTimeMs }: TunableLens,
  fraction: number,
): number | null {
  if (dampingRatio >= 1) return null;
  const falls = Math.log(1 / (fraction * Math.sqrt(1 - dampingRatio * dampingRatio)));
  return deadTimeMs + (1000 * Math.max(0, falls)) / (2 * Math.PI * naturalFrequencyHz * dampingRatio);
}

function cycleMargin(
  { station, optics, setting }: SettingAtStop,
  widths: readonly number[],
  exposureMs: number,
  settlingAfterMs: (fraction: number) => number | null,
): number {
  const timed = { ...station, controls: { ...station.controls, exposureMs } };
  const perMm = sensorPowerPerMm(optics.after, setting.sensorMm);
  const powers = optics.planes.map(({ slopePerMm }) => mmPerM * (perMm + slopePerMm));
  let cycleMs = 0;
  for (const [k, powerDpt] of powers.entries()) {
    const stepDpt = Math.abs(powerDpt - powers.at(k - 1)!);
    const fraction = settledToleranceDpt(station, widths[k]!) / stepDpt;
    const planeMs = frameAfterMoveMs(timed, fraction < 1 ? settlingAfterMs(fraction) : 0);
    if (planeMs === null) return Number.NEGATIVE_INFINITY;
    cycleMs += planeMs;
  }
  return 1 - cycleMs / station.task.cycleTimeMs;
}

/** 2 σ of the focus error at each plane of a pair; independent of spacer, ring, sensor and f-number. */
export function pairFocusErrors(
  errorAtDpt: (distancePerPowerMmPerDpt: number) => number,
  planes: readonly ObjectPlane[],
): number[] {
  // The plan takes the slope by difference: a thousandth less keeps the bound on its side.
  return planes.map(({ heightMm }) => 0.999 * coverageFactor * errorAtDpt(heightMm ** 2 / mmPerM));
}
