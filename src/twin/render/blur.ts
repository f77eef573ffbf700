import type { PolarTransfer } from './polar-transfer.js';
import type { RenderGrid } from './render-grid.js';

/** Entries of a radial transfer function, evenly spaced from 0 to the grid's highest frequency. */
export const radialEntryCount = 16384;

/** How the scene is blurred and scaled onto the sensor in one exposure. */
export type Blur = BlurFactors &
  (
    | {
        /** Transfer function of the lens over the radius, `radialEntryCount` entries; signed. */
        radialTransfer: Float32Array;
        polarTransfer: null;
      }
    | { radialTransfer: null; polarTransfer: PolarTransfer }
  );

interface BlurFactors {
  /** Factors along x, for kx = 0 … halfColumnCount: pixel aperture and correction of the scene's sampling. */
  columnTransfer: Float32Array;
  /** Factors along y, for ky = 0 … halfRowCount. */
  rowTransfer: Float32Array;
  /** Size on the object of one pixel. */
  pixelOnObjectMm: number;
}

/** Draws blurred images of one scene piece after another. */
export interface BlurredImager {
  /** Takes a scene piece: gridRowCount rows of gridColumnCount reflectances, each the mean over its cell. */
  loadScene(grid: RenderGrid, reflectance: Float32Array): void;
  /**
   * The image, row by row, `strideCount` values a row of which the first widthPx are pixels. The array is reused by the
   * next call.
   */
  image(blur: Blur): Float32Array;
  /** Values per row of an image. */
  readonly strideCount: number;
}

/** Place in the radial transfer function of a frequency. */
export const radialEntry = (frequencyPerMm: number, highestPerMm: number): number =>
  Math.round((frequencyPerMm / highestPerMm) * (radialEntryCount - 1));

/** sin(πx)/(πx). */
export const sinc = (x: number): number => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
