import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { decodeImage, measureEdge } from '../../src/image/index.js';

interface Truth {
  edges: { file: string; angleDeg: number; turned: boolean; mtf: number[]; mtf50PerPx: number | null }[];
}

/** EDGE_SET=DIR takes another set that references/edge-set/make_edge_set.py wrote. */
const folder = process.env.EDGE_SET
  ? new URL(`file://${process.env.EDGE_SET}/`)
  : new URL('../../references/edge-set/', import.meta.url);
const truth = JSON.parse(readFileSync(new URL('truth.json', folder), 'utf8')) as Truth;
const refused: string[] = [];
const times: number[] = [];
const results = truth.edges.flatMap((edge) => {
  const image = decodeImage(readFileSync(new URL(edge.file, folder)), edge.file);
  const started = process.cpuUsage();
  const response = measureEdge({ image });
  const { user, system } = process.cpuUsage(started);
  times.push((user + system) / 1000);
  if (response.kind === 'refused') {
    refused.push(`${edge.file}: ${response.reason} ${response.message}`);
    return [];
  }
  const errors = edge.mtf.map((value, i) => response.mtf[i + 1]!.value - value);
  const covered = errors.map((error, i) => Math.abs(error) <= 2 * response.mtf[i + 1]!.std);
  const half = edge.mtf50PerPx !== null && response.mtf50PerPx !== null;
  const error50 = half ? response.mtf50PerPx! - edge.mtf50PerPx! : null;
  return [
    {
      ...edge,
      worst: Math.max(...errors.map(Math.abs)),
      covered: covered.filter(Boolean).length / covered.length,
      relative50: error50 === null ? null : Math.abs(error50) / edge.mtf50PerPx!,
      covered50: error50 === null ? null : Math.abs(error50) <= 2 * response.mtf50StdPerPx!,
      angleError: Math.abs(Math.abs(response.edgeAngleDeg) - Math.abs(edge.angleDeg)),
      upright: response.orientation === 'near-vertical',
    },
  ];
});
const quantile = (list: readonly number[], share: number) =>
  [...list].sort((a, b) => a - b)[Math.floor(share * (list.length - 1))] ?? Number.NaN;
const halves = results.flatMap(({ relative50 }) => (relative50 === null ? [] : [relative50]));
const worst = results.map((result) => result.worst);
const covered = results.reduce((sum, result) => sum + result.covered, 0) / results.length;
const all50 = results.filter(({ covered50 }) => covered50 !== null);
const covered50 = all50.filter((result) => result.covered50).length / all50.length;
const percent = (share: number) => `${(100 * share).toFixed(2)} %`;

describe(`${truth.edges.length} edges of known MTF made with numpy and scipy (references/edge-set)`, () => {
  it(`reference: largest MTF error up to Nyquist, median ${quantile(worst, 0.5).toFixed(4)}, 95 % ${quantile(worst, 0.95).toFixed(4)}, most ${quantile(worst, 1).toFixed(4)}`, () => {
    expect(quantile(worst, 0.5)).toBeLessThan(0.008);
    expect(quantile(worst, 0.95)).toBeLessThan(0.02);
  });
  it(`reference: MTF50 error, median ${percent(quantile(halves, 0.5))}, 95 % ${percent(quantile(halves, 0.95))}`, () => {
    expect(quantile(halves, 0.5)).toBeLessThan(0.003);
    expect(quantile(halves, 0.95)).toBeLessThan(0.012);
  });
  it(`reference: two standard deviations cover the MTF at ${percent(covered)} of the frequencies, MTF50 in ${percent(covered50)}`, () => {
    for (const share of [covered, covered50]) {
      expect(share).toBeGreaterThan(0.9);
      expect(share).toBeLessThan(0.99);
    }
  });
  it(`reference: angle and orientation of each; none refused (CPU a region: median ${quantile(times, 0.5).toFixed(1)} ms, 95 % ${quantile(times, 0.95).toFixed(1)} ms)`, () => {
    expect(refused).toEqual([]);
    for (const { angleError, upright, turned } of results) {
      expect(angleError).toBeLessThan(0.1);
      expect(upright).toBe(!turned);
    }
  });
});
