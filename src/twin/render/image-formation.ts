import { mmFromNm, mmFromUm } from '../../base/index.js';
import type { LayoutModel } from '../../optics/index.js';
import { type OpticalState, opticalStateAt } from '../true-optics.js';
import type { World } from '../world.js';
import { blurOfExposure } from './blur-of-exposure.js';
import { fastBlurredImager } from './blurred-image.fast.js';
import type { FrameKernel } from './frame-kernel.js';
import { pupilOtf } from './pupil-otf.js';
import { renderGrid } from './render-grid.js';
import { paintPiece } from './scene-piece.js';

/** Noise-free images of the world through the true optics. */
export interface ImageFormation {
  /** Image for an exposure, from the true focal powers in `exposureParts` equal parts of it; reused by the next call. */
  image(truePowersDpt: Float64Array): Float32Array;
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

/**
 * Image formation in the true layout.
 *
 * Model    flat target square to the axis; scale along chief rays, one blur over the whole field (no field curvature)
 * Input    `powerMinDpt`, `powerMaxDpt`: true powers that can come; sets the piece of the scene that is kept.
 * Trust    strong defocus sees past the kept margin (an eighth of the field); there the scene repeats.
 */
export function imageFormation({
  kernel,
  world,
  model,
  widthPx,
  heightPx,
  pixelPitchUm,
  wavelengthNm,
  sphericalAberrationNm,
  powerMinDpt,
  powerMaxDpt,
}: {
  kernel: FrameKernel;
  world: World;
  model: LayoutModel;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  wavelengthNm: number;
  sphericalAberrationNm: number;
  powerMinDpt: number;
  powerMaxDpt: number;
}): ImageFormation {
  const pixelPitchMm = mmFromUm(pixelPitchUm);
  const sphericalWaves = sphericalAberrationNm / wavelengthNm;
  const keptPerPx = Math.max(
    leastHighestPerPx,
    Math.min(highestPerPx, Math.sqrt(mostPixelsKeptWhole / (widthPx * heightPx))),
  );
  const imager = fastBlurredImager({ kernel, widthPx, heightPx });
  const stateAt = (focalPowerDpt: number): OpticalState =>
    opticalStateAt({ model, focalPowerDpt, workingDistanceMm: world.workingDistanceMm, wavelengthNm });
  let pupil: ReturnType<typeof pupilOtf> | null = null;
  let placed: { scene: World['scene']; workingDistanceMm: number; grid: ReturnType<typeof renderGrid> } | null = null;
  let last: { waves: Float64Array; image: Float32Array } | null = null;

  function gridOfPlacement() {
    if (placed && placed.scene === world.scene && placed.workingDistanceMm === world.workingDistanceMm) {
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
      highestPerPx: Math.min(cutoffPerPx, keptPerPx),
      marginPx: (4 * mmFromNm(wavelengthNm) * workingFNumber * mostWaves) / pixelPitchMm,
    });
    const seamMm = (4 * pixelPitchMm) / ends[0]!.magnification;
    imager.loadScene(grid, paintPiece({ scene: world.scene, grid, seamMm }));
    pupil ??= pupilOtf({ sphericalWaves, highestS: Math.min(1, (1.6 * highestPerPx) / cutoffPerPx) });
    placed = { scene: world.scene, workingDistanceMm: world.workingDistanceMm, grid };
    last = null;
    return grid;
  }

  return {
    image(truePowersDpt) {
      const grid = gridOfPlacement();
      const states = Array.from(truePowersDpt, stateAt);
      const { magnification, workingFNumber } = states[states.length >> 1]!;
      // Focused where the variance of the wavefront is least: W20 = −W040.
      const waves = takenTogether(states.map(({ defocusWaves }) => defocusWaves - sphericalWaves));
      if (last && sameBlur(last.waves, waves)) return last.image;
      const blur = blurOfExposure({
        grid,
        pupil: pupil!,
        defocusWaves: waves,
        workingFNumber,
        wavelengthNm,
        pixelPitchMm,
        magnification,
      });
      last = { waves, image: imager.image(blur) };
      return last.image;
    },
  };
}

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
