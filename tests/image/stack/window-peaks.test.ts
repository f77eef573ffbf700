import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { windowPeaks } from '../../../src/image/stack/window-peaks.js';

const [frames, candidates, bands] = [11, 9, 3];
const random = seededRandom(8);
/** A peak at each candidate, wider in each band. */
const curves = Array.from({ length: bands }, (_, band) =>
  Float32Array.from({ length: candidates * frames }, (_, k) => {
    const [j, i] = [Math.floor(k / frames), k % frames];
    return 1 / (1 + ((i - j - 1) / (1 + band)) ** 2);
  }),
);
const factors = Float32Array.from({ length: frames }, () => 0.8 + 0.4 * random.uniform());
const [floor, independent] = [2, 50];

/** Energies of one window that are floor + amount · curve, seen under each frame's light. */
const energiesOf = (candidate: number, amounts: readonly number[], noise = 0) =>
  amounts.map((amount, band) =>
    Array.from({ length: frames }, (_, i) => {
      const energy = floor + amount * curves[band]![candidate * frames + i]! + noise * random.normal();
      return Float32Array.of(0, energy / factors[i]!);
    }),
  );
const all = { first: 0, step: 1, count: candidates };

function taken(energies: readonly (readonly Float32Array[])[]) {
  const peaks = windowPeaks({ curves, factors, frames, candidates });
  const found = energies.map((maps, band) => {
    const sums = { nullChi2: 0, weightedPeak2: 0 };
    peaks.take(band, maps, 1, floor, independent, sums);
    return sums;
  });
  return { peaks, found };
}

/** Least squares written out: e = offset + a · curve, the offset drawn towards 0 by its own weight. */
function readable(energies: readonly (readonly Float32Array[])[], candidate: number): number {
  let total = 0;
  energies.forEach((maps, band) => {
    const e = maps.map((map, i) => map[1]! * factors[i]! - floor);
    const top = Math.max(0, ...e);
    const sum = e.reduce((a, b) => a + b, 0);
    const model = (0.05 * top) ** 2;
    const variance = (2 / independent) * (floor ** 2 + (2 * floor * Math.max(0, sum)) / frames) + model;
    const n = frames + variance / ((0.1 * floor) ** 2 + model);
    const c = e.map((_, i) => curves[band]![candidate * frames + i]!);
    const product = e.reduce((s, value, i) => s + (value - sum / n) * c[i]!, 0);
    const spread = c.reduce((s, v) => s + v * v, 0) - c.reduce((s, v) => s + v, 0) ** 2 / n;
    if (product > 0) total += product ** 2 / (spread * variance);
  });
  return total;
}

describe('how well trial values of best focus explain a window', () => {
  it('property: as least squares written out, for every candidate', () => {
    const energies = energiesOf(4, [8, 5, 3], 0.4);
    const explained = taken(energies).peaks.explained(all);
    for (let j = 0; j < candidates; j++) expect(explained[j]! / readable(energies, j)).toBeCloseTo(1, 4);
  });

  it.each([0, 3, 8])('recovery: energies made of candidate %i are best explained by it', (candidate) => {
    const explained = [...taken(energiesOf(candidate, [8, 5, 3])).peaks.explained(all)];
    expect(explained.indexOf(Math.max(...explained))).toBe(candidate);
  });

  it('property: only the candidates asked for are tried, in their order', () => {
    const { peaks } = taken(energiesOf(4, [8, 5, 3], 0.4));
    const whole = [...peaks.explained(all)];
    expect([...peaks.explained({ first: 2, step: 3, count: 3 })]).toEqual([whole[2], whole[5], whole[8]]);
  });

  it('degenerate: no peak explains nothing, and a curve turned upside down neither', () => {
    const flat = taken(energiesOf(4, [0, 0, 0]));
    expect([...flat.peaks.explained(all)].every((value) => value < 1e-6)).toBe(true);
    const dips = [...taken(energiesOf(4, [-1, -1, -1])).peaks.explained(all)];
    expect(dips[4]).toBe(0);
  });
});
