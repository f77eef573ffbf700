import type { GreyImage, Region } from '../grey-image.js';
import { regionTransform } from './region-transform.js';
import { columnShare, type SpectrumRings, spectrumRings } from './spectrum-rings.js';

/** Mean power in each ring of a region's spectrum. */
export interface RingSpectrum {
  /** DN²; noise of variance σ² alone gives σ² in every ring. */
  powersDn2: Float64Array;
  /** Independent coefficients that carry it: as many as the ring has for random texture, few for lines and gratings. */
  coefficientCounts: Float64Array;
  /** Mean of the region under the window. */
  meanDn: number;
}

/** Measures ring spectra of regions of one size; holds tables and work space. */
export interface RingSpectrometer {
  readonly rings: SpectrumRings;
  /**
   * The region of `rings`’ size whose first pixel is (xPx, yPx); not checked. `scaleRatio`: how much larger the scene is drawn
   * than where the rings are meant (focus breathing); default 1.
   */
  measure(image: GreyImage, place: Pick<Region, 'xPx' | 'yPx'>, scaleRatio?: number): RingSpectrum;
}

const largestSidePx = 512;
export const leastSpectrumSidePx = 64;

/** The part of a region that a spectrum is taken of: its middle, sides the largest powers of two that fit, at most 512 px. */
export function spectrumRegion(region: Region): Region {
  const side = (px: number) => Math.min(largestSidePx, 2 ** Math.floor(Math.log2(px)));
  const widthPx = side(region.widthPx);
  const heightPx = side(region.heightPx);
  return {
    xPx: region.xPx + Math.floor((region.widthPx - widthPx) / 2),
    yPx: region.yPx + Math.floor((region.heightPx - heightPx) / 2),
    widthPx,
    heightPx,
  };
}

/**
 * Power spectrum of a region in rings of spatial frequency.
 *
 * Model    mean taken off, taper window, Fourier transform, mean of |F|² over each ring
 * Input    sides that are powers of two; linear grey values, 8 … 16 bit.
 * Cost     256 × 256: about 3 ms; ringSpectrometerFast takes a seventeenth.
 * Trust    a flat picture has no counts: its coefficients are all 0.
 * Checked  closed form and property: tests/image/defocus/ring-spectrum.test.ts
 */
export function ringSpectrometer({ widthPx, heightPx }: { widthPx: number; heightPx: number }): RingSpectrometer {
  const rings = spectrumRings({ widthPx, heightPx });
  const { transform, columns } = regionTransform({ widthPx, heightPx });
  const { across, down } = rings.window;
  const window = Float64Array.from(
    { length: widthPx * heightPx },
    (_, i) => across[i % widthPx]! * down[Math.floor(i / widthPx)]!,
  );
  const windowSum = window.reduce((sum, weight) => sum + weight, 0);
  const pixels = new Float64Array(widthPx * heightPx);
  const counts = new Float64Array(rings.frequenciesPerPx.length);
  const ringsOf = scaledRings({ rings, columns });
  return {
    rings,
    measure(image, { xPx, yPx }, scaleRatio = 1) {
      let sum = 0;
      for (let y = 0; y < heightPx; y++) {
        const from = (y + yPx) * image.widthPx + xPx;
        const to = y * widthPx;
        for (let x = 0; x < widthPx; x++) {
          const value = image.data[from + x]!;
          pixels[to + x] = value;
          sum += window[to + x]! * value;
        }
      }
      const meanDn = sum / windowSum;
      for (let i = 0; i < pixels.length; i++) pixels[i] = (pixels[i]! - meanDn) * window[i]!;
      const { re, im } = transform(pixels);
      const ringOf = ringsOf(scaleRatio);
      counts.fill(0);
      const powersDn2 = new Float64Array(counts.length);
      const squares = new Float64Array(counts.length);
      for (let u = 0; u < columns; u++) {
        const share = columnShare(u, columns);
        for (let i = u * heightPx; i < (u + 1) * heightPx; i++) {
          const ring = ringOf[i]!;
          if (ring < 0) continue;
          const power = re[i]! * re[i]! + im[i]! * im[i]!;
          counts[ring]! += share;
          powersDn2[ring]! += share * power;
          squares[ring]! += share * power * power;
        }
      }
      const coefficientCounts = new Float64Array(counts.length);
      for (let ring = 0; ring < counts.length; ring++) {
        // Of complex normal coefficients the mean of the fourth power is twice the square of that of the second.
        const taking = (2 * powersDn2[ring]! ** 2) / Math.max(squares[ring]!, 1e-30) / Math.max(counts[ring]!, 0.5);
        coefficientCounts[ring] = rings.coefficientCounts[ring]! * Math.min(1, taking);
        powersDn2[ring]! /= Math.max(counts[ring]!, 0.5);
      }
      return { powersDn2, coefficientCounts, meanDn };
    },
  };
}

/** Steps of frequency, in cycles per pixel, in which the ring of a scaled scene is looked up. */
export const finePerRing = 4096;

/** Ring of each coefficient, for a scene drawn larger or smaller; the corners stay as they are but for what a smaller one brings there. */
function scaledRings({
  rings,
  columns,
}: {
  rings: SpectrumRings;
  columns: number;
}): (scaleRatio: number) => Int16Array {
  const { widthPx, heightPx, ringOf } = rings;
  const corners = rings.frequenciesPerPx.length - 1;
  const frequencies = new Float32Array(ringOf.length);
  const fine = new Int16Array(finePerRing).fill(-1);
  for (let u = 0; u < columns; u++) {
    for (let v = 0; v < heightPx; v++) {
      frequencies[u * heightPx + v] = Math.sqrt(
        (u / widthPx) ** 2 + ((v > heightPx / 2 ? v - heightPx : v) / heightPx) ** 2,
      );
    }
  }
  for (let i = 0; i < finePerRing; i++) fine[i] = rings.ringAt(i / finePerRing);
  const scaled = new Int16Array(ringOf.length);
  return (scaleRatio) => {
    if (scaleRatio === 1) return ringOf;
    const step = scaleRatio * finePerRing;
    for (let i = 0; i < scaled.length; i++) {
      const ring = fine[Math.min(finePerRing - 1, Math.floor(frequencies[i]! * step + 0.5))]!;
      const isOutside = ring < 0 || ring === corners;
      scaled[i] = ringOf[i] === corners && isOutside ? corners : ring === corners ? -1 : ring;
    }
    return scaled;
  };
}
