import { mmFromNm, mmFromUm } from '../../base/index.js';
import type { LayoutModel } from '../../optics/index.js';
import { type OpticalState, opticalStateAt } from '../true-optics.js';
import type { World } from '../world.js';
import type { Blur } from './blur.js';
import { blurOfExposure } from './blur-of-exposure.js';
import { fastBlurredImager } from './blurred-image.fast.js';
import type { FrameKernel } from './frame-kernel.js';
import { fastPupilOtf } from './pupil-otf.fast.js';
import type { PupilOtf } from './pupil-otf.js';
import { renderGrid } from './render-grid.js';
import { paintPiece } from './scene-piece.js';

/** Noise-free images of the world through the true optics. */
export interface ImageFormation {
  /** Image for an exposure, from the true focal powers in `exposureParts` equal parts of it; reused by the next call. */
  image(truePowersDpt: Float64Array): Float32Array;
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
  powerMinDpt: number;
  powerMaxDpt: number;
}

/**
 * Image formation in the true layout.
 *
 * Model    flat target square to the axis; scale along chief rays, one blur over the whole field (no field curvature);
 *          transfer functions of the colours add by their weights
 * Input    `powerMinDpt`, `powerMaxDpt`: true powers that can come; sets the piece of the scene that is kept. `colours`
 *          by default the wavelength alone.
 * Trust    spherical aberration is taken as the same number of waves at every colour; strong
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
  colours = [{ wavelengthNm, weight: 1, focusShiftDpt: 0 }],
  sphericalAberrationNm,
  powerMinDpt,
  powerMaxDpt,
}: FormationParts): ImageFormation {
  const pixelPitchMm = mmFromUm(pixelPitchUm);
  const sphericalWaves = Number((sphericalAberrationNm / wavelengthNm).toFixed(6));
  const keptPerPx = Math.max(
    leastHighestPerPx,
    Math.min(highestPerPx, Math.sqrt(mostPixelsKeptWhole / (widthPx * heightPx))),
  );
  /** Longest wavelength over the reference: the cutoff lies lower for it, so its row reaches further. */
  const reddest = Math.max(...colours.map((colour) => colour.wavelengthNm / wavelengthNm));
  const bluest = Math.min(...colours.map((colour) => colour.wavelengthNm / wavelengthNm));
  const imager = fastBlurredImager({ kernel, widthPx, heightPx });
  const stateAt = (focalPowerDpt: number): OpticalState =>
    opticalStateAt({
      model,
      focalPowerDpt,
      workingDistanceMm: world.workingDistanceMm,
      wavelengthNm,
    });
  let pupil: PupilOtf | null = null;
  let placed: { scene: World['scene']; workingDistanceMm: number; grid: ReturnType<typeof renderGrid> } | null = null;
  let last: { waves: Float64Array; image: Float32Array } | null = null;

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
    pupil ??= fastPupilOtf({ sphericalWaves, highestS: highestSOf((1.6 * highestPerPx * reddest) / cutoffPerPx) });
    placed = { scene, workingDistanceMm: world.workingDistanceMm, grid };
    last = null;
    return grid;
  }

  return {
    image(truePowersDpt) {
      const grid = gridOfPlacement();
      const states = Array.from(truePowersDpt, stateAt);
      const middleDpt = truePowersDpt[truePowersDpt.length >> 1]!;
      const { magnification, workingFNumber } = states[states.length >> 1]!;
      // Focused where the variance of the wavefront is least: W20 = −W040.
      const waves = takenTogether(states.map(({ defocusWaves }) => defocusWaves - sphericalWaves));
      if (last && sameBlur(last.waves, waves)) return last.image;
      const blur = sumOfBlurs(
        colours.map((colour) => {
          const { defocusWaves } = stateAt(middleDpt - colour.focusShiftDpt);
          const shiftWaves = defocusWaves - states[states.length >> 1]!.defocusWaves;
          return {
            weight: colour.weight,
            blur: blurOfExposure({
              grid,
              pupil: pupil!,
              defocusWaves: waves.map(
                (value) =>
                  ((value + sphericalWaves + shiftWaves) * wavelengthNm) / colour.wavelengthNm - sphericalWaves,
              ),
              workingFNumber,
              wavelengthNm: colour.wavelengthNm,
              pixelPitchMm,
              magnification,
            }),
          };
        }),
      );
      last = { waves, image: imager.image(blur) };
      return last.image;
    },
  };
}

function sumOfBlurs(parts: readonly { weight: number; blur: Blur }[]): Blur {
  const [first] = parts;
  if (parts.length === 1) return first!.blur;
  const radialTransfer = new Float32Array(first!.blur.radialTransfer.length);
  for (const { weight, blur } of parts) {
    for (let i = 0; i < radialTransfer.length; i++) radialTransfer[i]! += weight * blur.radialTransfer[i]!;
  }
  return { ...first!.blur, radialTransfer };
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
