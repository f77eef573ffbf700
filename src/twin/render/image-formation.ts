import { mmFromNm, mmFromUm } from '../../base/index.js';
import type { ColourLine, LayoutModel } from '../../optics/index.js';
import { type OpticalState, opticalStateAt } from '../true-optics.js';
import type { World } from '../world.js';
import { blurOfExposure } from './blur-of-exposure.js';
import { fastBlurredImager } from './blurred-image.fast.js';
import type { FrameKernel } from './frame-kernel.js';
import { type LightLine, linesOfSpectrum, pupilsOfLight } from './light-lines.js';
import { renderGrid } from './render-grid.js';
import { paintPiece } from './scene-piece.js';

/** Noise-free images of the world through the true optics. */
export interface ImageFormation {
  /**
   * Image for an exposure, from the true focal powers in `exposureParts` equal parts of it and the way that the object went
   * during it; reused by the next call.
   */
  image(truePowersDpt: Float64Array, smearMm?: number): Float32Array;
}

/** One wavelength of the light. */
export interface LightColour {
  wavelengthNm: number;
  /** Share of the light; all together 1. */
  weight: number;
  /** Power by which this wavelength is sharp above that of the reference: axial colour. */
  focusShiftDpt: number;
}

/** Equal parts in whose middles the path of the lens during an exposure is known. */
export const exposureParts = 24;

/** Frequencies are kept up to here, in cycles per pixel: to the pixel's first zero, less for sensors of many pixels. */
const highestPerPx = 1;
const leastHighestPerPx = 0.6;
/** Pixels from which on less is kept, so that a scene fits in memory. */
const mostPixelsKeptWhole = 4e6;
/** Parts are taken together, by these numbers, while defocus moves less than this within them. */
const wavesTogether = 0.08;
const partsTogether = [24, 12, 8, 6, 4, 3, 2, 1];
/** A change smaller than this is no new image. */
const sameDefocusWaves = 0.002;

interface FormationParts {
  kernel: FrameKernel;
  world: World;
  model: LayoutModel;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  wavelengthNm: number;
  colours?: readonly LightColour[];
  sphericalAberrationNm: number;
  /** At the pupil's edge. */
  comaNm?: number;
  spectrumAt?: (focalPowerDpt: number) => readonly ColourLine[] | null;
  powerMinDpt: number;
  powerMaxDpt: number;
}

/**
 * Image formation in the true layout.
 *
 * Model    flat target square to the axis; scale along chief rays, one blur over the whole field (no field curvature);
 *          transfer functions of the colours add by their weights; gravity, and with it the coma, along the image's y
 * Input    `powerMinDpt`, `powerMaxDpt`: true powers that can come; sets the piece of the scene that is kept.
 *          `spectrumAt`: the light's wavelengths with their focuses at a power, null: the centre alone; `colours` stand in
 *          its place.
 * Trust    of `colours` spherical aberration is taken as the same number of waves at each; strong
 *          defocus sees past the kept margin (an eighth of the field): there the scene repeats.
 */
export function imageFormation({
  kernel,
  world,
  model,
  widthPx,
  heightPx,
  pixelPitchUm,
  wavelengthNm,
  colours,
  sphericalAberrationNm,
  comaNm = 0,
  spectrumAt = () => null,
  powerMinDpt,
  powerMaxDpt,
}: FormationParts): ImageFormation {
  const pixelPitchMm = mmFromUm(pixelPitchUm);
  const sphericalWaves = Number((sphericalAberrationNm / wavelengthNm).toFixed(6));
  const keptPerPx = Math.max(
    leastHighestPerPx,
    Math.min(highestPerPx, Math.sqrt(mostPixelsKeptWhole / (widthPx * heightPx))),
  );
  const wavelengths = [
    wavelengthNm,
    ...(colours ?? [powerMinDpt, powerMaxDpt].flatMap((power) => spectrumAt(power) ?? [])).map(
      (line) => line.wavelengthNm,
    ),
  ];
  /** Longest wavelength over the reference: the cutoff lies lower for it, so its row reaches further. */
  const reddest = Math.max(...wavelengths) / wavelengthNm;
  const bluest = Math.min(...wavelengths) / wavelengthNm;
  const imager = fastBlurredImager({ kernel, widthPx, heightPx, directed: comaNm !== 0 });
  const stateAt = (focalPowerDpt: number): OpticalState =>
    opticalStateAt({ model, focalPowerDpt, workingDistanceMm: world.workingDistanceMm, wavelengthNm });
  let pupils: ReturnType<typeof pupilsOfLight> | null = null;
  let placed: { scene: World['scene']; workingDistanceMm: number; grid: ReturnType<typeof renderGrid> } | null = null;
  let last: { waves: Float64Array; smearMm: number; image: Float32Array } | null = null;

  function linesAt(focalPowerDpt: number, { defocusWaves, workingFNumber }: OpticalState): LightLine[] {
    if (colours) {
      return colours.map((colour) => ({
        weight: colour.weight,
        wavelengthRatio: colour.wavelengthNm / wavelengthNm,
        shiftWaves: stateAt(focalPowerDpt - colour.focusShiftDpt).defocusWaves - defocusWaves,
        sphericalWaves,
      }));
    }
    const spectrum = spectrumAt(focalPowerDpt);
    return spectrum
      ? linesOfSpectrum({ spectrum, wavelengthNm, workingFNumber, sphericalWaves })
      : [{ weight: 1, wavelengthRatio: 1, shiftWaves: 0, sphericalWaves }];
  }

  function gridOfPlacement() {
    const { scene } = world;
    if (placed && placed.scene === scene && placed.workingDistanceMm === world.workingDistanceMm) {
      return placed.grid;
    }
    const ends = [stateAt(powerMinDpt), stateAt(powerMaxDpt)];
    const workingFNumber = Math.min(...ends.map((end) => end.workingFNumber));
    const cutoffPerPx = pixelPitchMm / (mmFromNm(wavelengthNm) * workingFNumber);
    const mostWaves = Math.max(...ends.map(({ defocusWaves }) => Math.abs(defocusWaves)));
    const grid = renderGrid({
      widthPx,
      heightPx,
      pixelPitchMm,
      magnificationMin: Math.min(...ends.map(({ magnification }) => magnification)),
      magnificationMax: Math.max(...ends.map(({ magnification }) => magnification)),
      highestPerPx: Math.min(cutoffPerPx / bluest, keptPerPx),
      marginPx: (4 * mmFromNm(wavelengthNm) * workingFNumber * mostWaves) / pixelPitchMm,
    });
    const seamMm = (4 * pixelPitchMm) / ends[0]!.magnification;
    imager.loadScene(grid, paintPiece({ scene, grid, seamMm }));
    pupils ??= pupilsOfLight({
      comaWaves: comaNm / wavelengthNm,
      highestS: highestSOf((1.6 * highestPerPx * reddest) / cutoffPerPx),
    });
    placed = { scene, workingDistanceMm: world.workingDistanceMm, grid };
    last = null;
    return grid;
  }

  return {
    image(truePowersDpt, smearMm = 0) {
      const grid = gridOfPlacement();
      const states = Array.from(truePowersDpt, stateAt);
      const middleDpt = truePowersDpt[truePowersDpt.length >> 1]!;
      const { magnification, workingFNumber } = states[states.length >> 1]!;
      const waves = takenTogether(states.map(({ defocusWaves }) => defocusWaves));
      if (last && last.smearMm === smearMm && sameBlur(last.waves, waves)) return last.image;
      const blur = blurOfExposure({
        grid,
        light: pupils!(linesAt(middleDpt, states[states.length >> 1]!)),
        defocusWaves: waves,
        workingFNumber,
        wavelengthNm,
        pixelPitchMm,
        magnification,
        smearMm,
      });
      last = { waves, smearMm, image: imager.image(blur) };
      return last.image;
    },
  };
}

/** A little more than is needed, in steps, so that many layouts share the rows of one pupil. */
const highestSOf = (needed: number): number => Math.min(1, 2 ** (Math.ceil(4 * Math.log2(needed)) / 4));

/** Means of as many neighbouring values together as lie close enough. */
function takenTogether(waves: readonly number[]): Float64Array {
  const groups = (size: number) =>
    Array.from({ length: waves.length / size }, (_, i) => waves.slice(i * size, (i + 1) * size));
  const isClose = (group: readonly number[]) => Math.max(...group) - Math.min(...group) <= wavesTogether;
  const size = partsTogether.find((count) => groups(count).every(isClose)) ?? 1;
  return Float64Array.from(groups(size), (group) => group.reduce((sum, value) => sum + value, 0) / size);
}

function sameBlur(before: Float64Array, now: Float64Array): boolean {
  return before.length === now.length && before.every((waves, i) => Math.abs(waves - now[i]!) < sameDefocusWaves);
}
