import { type SpectralLeak, spectralLeak, taperWindow } from './taper-window.js';

/** A place inside a ring, with how much of the ring's power comes from there. */
export interface RingSample {
  frequencyPerPx: number;
  weight: number;
}

/** Rings of spatial frequency of a windowed region. */
export interface SpectrumRings {
  widthPx: number;
  heightPx: number;
  /** Mean frequency of each ring; the last lies in the corners of the spectrum, where almost only noise is. */
  frequenciesPerPx: Float64Array;
  /** Independent complex coefficients in each ring: half its pixels, fewer for the window. */
  coefficientCounts: Float64Array;
  /** Frequencies that a ring's power comes from: its own width and what the window leaks into it; weights sum to 1. */
  samples: readonly (readonly RingSample[])[];
  /** Ring of each coefficient in the order of RegionTransform; −1: none. */
  ringOf: Int16Array;
  /** Ring of a frequency; −1: none. */
  ringAt(frequencyPerPx: number): number;
  /** Window, the product of both, scaled so that white noise of variance σ² has a power of σ² in each coefficient. */
  window: { across: Float64Array; down: Float64Array };
}

/** Lowest frequency, in cycles a region: below, shading and the region's own mean are in the way. */
const lowestCycles = 2.5;
/** Width of a ring over its frequency; at least one cycle a region. */
const relativeWidth = 0.15;
const samplesPerRing = 10;
/** Falling power of a usual scene, f^−2.2: what leaks from lower frequencies weighs more. */
const usualSlope = 2.2;
const nyquistPerPx = 0.5;

/**
 * Cuts the spectrum of a region into rings.
 *
 * Model    rings of equal relative width, at least one cycle a region, to the sampling limit; one more for the corners
 * Formula  independent coefficients: half the ring's pixels · (Σw²)² / (pixels · Σw⁴)
 * Input    sides that are powers of two, 16 px or more.
 * Checked  closed form and property: tests/image/defocus/ring-spectrum.test.ts
 */
export function spectrumRings({ widthPx, heightPx }: { widthPx: number; heightPx: number }): SpectrumRings {
  const sidePx = Math.min(widthPx, heightPx);
  const edges = ringEdges(sidePx);
  const count = edges.length - 1;
  const columns = widthPx / 2 + 1;
  const ringOf = new Int16Array(columns * heightPx).fill(-1);
  const pixels = new Float64Array(count);
  const frequencySums = new Float64Array(count);
  const ringAt = (frequencyPerPx: number): number => {
    if (frequencyPerPx < edges[0]! || frequencyPerPx > edges[count]!) return -1;
    let ring = 0;
    while (frequencyPerPx > edges[ring + 1]!) ring++;
    return ring;
  };
  for (let u = 0; u < columns; u++) {
    const share = columnShare(u, columns);
    for (let v = 0; v <= heightPx / 2; v++) {
      const frequency = Math.sqrt((u / widthPx) ** 2 + (v / heightPx) ** 2);
      const ring = ringAt(frequency);
      if (ring < 0) continue;
      // v and −v.
      const mirrored = (heightPx - v) % heightPx;
      ringOf[u * heightPx + v] = ring;
      ringOf[u * heightPx + mirrored] = ring;
      const weight = mirrored === v ? share : 2 * share;
      pixels[ring]! += weight;
      frequencySums[ring]! += weight * frequency;
    }
  }
  const leak = spectralLeak(sidePx);
  const { window, efficiency } = windowOf({ widthPx, heightPx });
  return {
    widthPx,
    heightPx,
    frequenciesPerPx: frequencySums.map((sum, ring) => sum / pixels[ring]!),
    coefficientCounts: pixels.map((count) => count * efficiency),
    samples: Array.from({ length: count }, (_, ring) => ringSamples(edges[ring]!, edges[ring + 1]!, sidePx, leak)),
    ringOf,
    ringAt,
    window,
  };
}

/** The first and last column stand for themselves, the others for their conjugates as well. */
export const columnShare = (column: number, columns: number): number =>
  column === 0 || column === columns - 1 ? 0.5 : 1;

function ringEdges(sidePx: number): number[] {
  const edges = [lowestCycles / sidePx];
  for (;;) {
    const last = edges.at(-1)!;
    const next = last + Math.max(1 / sidePx, relativeWidth * last);
    if (next + relativeWidth * 0.5 * next >= nyquistPerPx) break;
    edges.push(next);
  }
  return [...edges, nyquistPerPx, Math.SQRT1_2];
}

function windowOf({ widthPx, heightPx }: { widthPx: number; heightPx: number }) {
  const across = taperWindow(widthPx);
  const down = taperWindow(heightPx);
  const sum = (weights: Float64Array, power: number) => weights.reduce((total, weight) => total + weight ** power, 0);
  const second = sum(across, 2) * sum(down, 2);
  const fourth = sum(across, 4) * sum(down, 4);
  const scale = 1 / Math.sqrt(second);
  return {
    window: { across, down: down.map((weight) => weight * scale) },
    efficiency: second ** 2 / (widthPx * heightPx * fourth),
  };
}

/** Quarter cycles a region, gathered from all of the ring and the leak around it, then put together to a few. */
function ringSamples(low: number, high: number, sidePx: number, leak: SpectralLeak): RingSample[] {
  const grid = 4 * sidePx;
  const middle = (low + high) / 2;
  const parts = Math.max(2, Math.min(16, Math.round((high - low) * sidePx * 2)));
  const weights = new Map<number, number>();
  for (let part = 0; part < parts; part++) {
    const own = low + ((part + 0.5) * (high - low)) / parts;
    leak.offsetsPerPx.forEach((offset, i) => {
      const place = Math.round(Math.abs(own + offset) * grid);
      if (place === 0) return;
      const steepness = Math.min(30, (place / grid / middle) ** -usualSlope);
      weights.set(place, (weights.get(place) ?? 0) + own * leak.shares[i]! * steepness);
    });
  }
  const places = [...weights].sort(([a], [b]) => a - b);
  const total = places.reduce((sum, [, weight]) => sum + weight, 0);
  const together = Math.ceil(places.length / samplesPerRing);
  const samples: RingSample[] = [];
  for (let start = 0; start < places.length; start += together) {
    const group = places.slice(start, start + together);
    const weight = group.reduce((sum, [, w]) => sum + w, 0);
    const place = group.reduce((sum, [p, w]) => sum + p * w, 0) / weight;
    samples.push({ frequencyPerPx: place / grid, weight: weight / total });
  }
  return samples;
}
