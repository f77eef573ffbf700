import { mmFromNm, mmPerM, perMmFromPerPx, requirePositive } from '../../base/index.js';
import {
  chiefRayMagnification,
  defocusOtfTable,
  defocusWavesFromPower,
  type LayoutModel,
  pixelMtf,
  pupilView,
  vergenceFromPupilPerMm,
  workingDistanceAt,
} from '../../optics/index.js';
import { bandCount } from './band-energies.js';

/** What the optical model says about a sweep, before any frame is looked at. */
export interface ThroughFocusModel {
  /** Of the frames, in their order. */
  focalPowersDpt: readonly number[];
  /** Trial values of best focus, evenly spaced, a little beyond the ends of the sweep. */
  candidatesDpt: Float64Array;
  /** Per band: energy relative to focus, candidate by candidate, one value per frame. */
  curves: Float32Array[];
  /** Size of the picture of each frame's sharp plane relative to the same plane in the reference frame. */
  scales: number[];
  /** Index of the frame whose picture all others are brought to. */
  referenceIndex: number;
  /** Change of best focus at which defocus is a quarter wave, in the middle of the sweep. */
  quarterWaveHalfWidthDpt: number;
}

/** Trial values per step of the sweep. */
export const candidatesPerStep = 8;
const radialBins = 48;
/** Steps of the table over defocus. */
const stepsPerWave = 32;

/**
 * Through-focus curves of every band, and the breathing, as the layout predicts them.
 *
 * Model    energy of a band = texture spectrum (power ∝ 1/f², as of natural surfaces) × band response² × pixel² ×
 *          OTF(defocus)², relative to focus; defocus from the vergences at the entrance pupil of each frame. Breathing by
 *          the chief ray, at the distance that the frame itself is sharp at.
 * Input    the layout; powers of the frames, in any order, at least three different
 * Returns  null where the powers focus no real object.
 * Throws   RangeError naming the field, if pitch or wavelength is not > 0.
 * Trust    a texture of another spectrum changes the curve's width by some per cent, not its middle; spherical
 *          aberration would make it lopsided.
 */
export function throughFocusModel({
  model,
  wavelengthNm,
  pixelPitchUm,
  focalPowersDpt,
}: {
  model: LayoutModel;
  wavelengthNm: number;
  pixelPitchUm: number;
  focalPowersDpt: readonly number[];
}): ThroughFocusModel | null {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('pixelPitchUm', pixelPitchUm, 'µm');
  const distinct = [...new Set(focalPowersDpt)].sort((a, b) => a - b);
  const [lowDpt, highDpt] = [distinct[0]!, distinct.at(-1)!];
  const distanceOf = (focalPowerDpt: number) => {
    const focus = workingDistanceAt({ model, focalPowerDpt });
    return focus.kind === 'real' ? focus.workingDistanceMm : null;
  };
  const stepDpt = medianStep(distinct);
  const count = Math.round((highDpt - lowDpt) / stepDpt + 2) * candidatesPerStep + 1;
  const candidatesDpt = Float64Array.from(
    { length: count },
    (_, j) => lowDpt - stepDpt + (j * (highDpt - lowDpt + 2 * stepDpt)) / (count - 1),
  );
  const candidateMm = Array.from(candidatesDpt, distanceOf);
  if (candidateMm.includes(null)) return null;
  const views = focalPowersDpt.map((focalPowerDpt) => pupilView({ model, focalPowerDpt }));
  const defocus = (j: number, i: number) => {
    const view = views[i]!;
    const vergence = vergenceFromPupilPerMm({ view, model, workingDistanceMm: candidateMm[j]! });
    return Math.abs(
      defocusWavesFromPower({
        pupilDiameterMm: view.diameterMm,
        powerChangeDpt: mmPerM * (vergence - view.focusVergencePerMm),
        wavelengthNm,
      }),
    );
  };
  const frames = focalPowersDpt.length;
  const waves = new Float32Array(count * frames);
  for (let j = 0; j < count; j++) for (let i = 0; i < frames; i++) waves[j * frames + i] = defocus(j, i);
  const middle = views[Math.floor(frames / 2)]!;
  const tables = bandCurveTables({
    cutoffPerPx:
      1 / (perMmFromPerPx({ frequencyPerPx: 1, pixelPitchUm }) * mmFromNm(wavelengthNm) * middle.workingFNumber),
    maxDefocusWaves: waves.reduce((a, b) => Math.max(a, b), 0.1) + 0.1,
  });
  const referenceIndex = nearestTo(focalPowersDpt, (lowDpt + highDpt) / 2);
  return {
    focalPowersDpt,
    candidatesDpt,
    curves: tables.map((table) => waves.map((w) => readTable(table, w))),
    scales: focalPowersDpt.map((focalPowerDpt) => {
      const workingDistanceMm = distanceOf(focalPowerDpt)!;
      const at = (powerDpt: number) => chiefRayMagnification({ model, focalPowerDpt: powerDpt, workingDistanceMm });
      return at(focalPowerDpt) / at(focalPowersDpt[referenceIndex]!);
    }),
    referenceIndex,
    quarterWaveHalfWidthDpt: quarterWave(candidatesDpt, waves, frames, referenceIndex, focalPowersDpt[referenceIndex]!),
  };
}

function medianStep(distinct: readonly number[]): number {
  const steps = distinct
    .slice(1)
    .map((power, i) => power - distinct[i]!)
    .sort((a, b) => a - b);
  return steps[Math.floor(steps.length / 2)]!;
}

/** From the slope of |defocus| over best focus, across the whole of the sweep. */
function quarterWave(
  candidates: Float64Array,
  waves: Float32Array,
  frames: number,
  index: number,
  power: number,
): number {
  const far = Math.abs(candidates[0]! - power) > Math.abs(candidates.at(-1)! - power) ? 0 : candidates.length - 1;
  return (0.25 * Math.abs(candidates[far]! - power)) / waves[far * frames + index]!;
}

const nearestTo = (values: readonly number[], wanted: number): number =>
  values.reduce((best, value, i) => (Math.abs(value - wanted) < Math.abs(values[best]! - wanted) ? i : best), 0);

/**
 * Energy of each band against defocus, relative to focus, every 1/32 wave.
 *
 * Formula  ∫ A_k(f) sinc²(f) f^−2 OTF(f/f_c, W)² f df / the same at W = 0; A_k: the band's response² averaged over directions
 */
export function bandCurveTables({
  cutoffPerPx,
  maxDefocusWaves,
}: {
  cutoffPerPx: number;
  maxDefocusWaves: number;
}): Float64Array[] {
  const weights = radialWeights();
  const frequencies = Array.from({ length: radialBins }, (_, b) => ((b + 0.5) / radialBins) * Math.SQRT1_2);
  const table = defocusOtfTable({
    normalisedFrequencies: frequencies.map((f) => f / cutoffPerPx),
    maxDefocusWaves: maxDefocusWaves + 0.1,
  });
  const otf = new Float64Array(radialBins);
  const count = Math.ceil(maxDefocusWaves * stepsPerWave) + 2;
  const energies = Array.from({ length: bandCount }, () => new Float64Array(count));
  for (let k = 0; k < count; k++) {
    table.readAll(Math.min(k / stepsPerWave, maxDefocusWaves), otf);
    for (let band = 0; band < bandCount; band++) {
      let sum = 0;
      for (let b = 0; b < radialBins; b++) sum += weights[band]![b]! * otf[b]! ** 2;
      energies[band]![k] = sum;
    }
  }
  return energies.map((energy) => energy.map((value) => value / Math.max(energy[0]!, Number.MIN_VALUE)));
}

function readTable(table: Float64Array, waves: number): number {
  const place = waves * stepsPerWave;
  const k = Math.min(Math.floor(place), table.length - 2);
  return table[k]! + (place - k) * (table[k + 1]! - table[k]!);
}

/** Response² of each band × pixel² × 1/f², summed over the frequencies of each ring. */
function radialWeights(): Float64Array[] {
  const weights = Array.from({ length: bandCount }, () => new Float64Array(radialBins));
  const grid = 128;
  for (let iy = 0; iy < grid; iy++) {
    for (let ix = 0; ix < grid; ix++) {
      const [fx, fy] = [(ix + 0.5) / (2 * grid), (iy + 0.5) / (2 * grid)];
      const f = Math.hypot(fx, fy);
      const ring = Math.min(radialBins - 1, Math.floor((f / Math.SQRT1_2) * radialBins));
      const pixel = pixelMtf({ spatialFrequencyPerMm: f, pixelPitchUm: 1000 });
      for (let band = 0; band < bandCount; band++) {
        const response = bandResponse(fx, fy, band);
        weights[band]![ring] = weights[band]![ring]! + (response * pixel) ** 2 / f ** 2;
      }
    }
  }
  return weights;
}

/** Amplitude response of a band at a frequency in cycles per pixel. */
function bandResponse(fx: number, fy: number, band: number): number {
  const [u, v] = [Math.PI * fx, Math.PI * fy];
  const smooth = Math.cos(u) ** 2 * Math.cos(v) ** 2;
  if (band > 0) return smooth * Math.cos(u) * Math.cos(v) * bandResponse(2 * fx, 2 * fy, band - 1);
  return smooth * 4 * (Math.sin(u) ** 2 + Math.sin(v) ** 2);
}
