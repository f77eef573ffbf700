import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { decodeImage, measureEdge } from '../../src/image/index.js';

interface Truth {
  frequenciesPerPx: number[];
  edges: { file: string; kind: string; angleDeg: number; bowPx: number; mtf: number[] }[];
}

const folder = new URL('../../references/edges/', import.meta.url);
const truth = JSON.parse(readFileSync(new URL('truth.json', folder), 'utf8')) as Truth;
const results = truth.edges.map((edge) => {
  const response = measureEdge({ image: decodeImage(readFileSync(new URL(edge.file, folder)), edge.file) });
  if (response.kind === 'refused') throw new Error(`${edge.file}: ${response.reason} ${response.message}`);
  // Each reference frequency is a point of the result: 0.01, 0.02 … 0.5.
  const errors = edge.mtf.map((value, i) => response.mtf[i + 1]!.value - value);
  const covered = errors.filter((error, i) => Math.abs(error) <= 2 * response.mtf[i + 1]!.std).length;
  return { ...edge, response, worst: Math.max(...errors.map(Math.abs)), covered: covered / errors.length };
});
const sorted = results.map(({ worst }) => worst).sort((a, b) => a - b);
const median = sorted[sorted.length >> 1]!;
const p95 = sorted[Math.floor(0.95 * (sorted.length - 1))]!;
const covered = results.reduce((sum, result) => sum + result.covered, 0) / results.length;

describe('edges of known MTF made with numpy (references/edges)', () => {
  it(`reference: largest MTF error up to Nyquist: median ${median.toFixed(4)}, 95 % ${p95.toFixed(4)}; 2 σ cover ${(100 * covered).toFixed(1)} %`, () => {
    expect(results).toHaveLength(38);
    expect(median).toBeLessThan(0.008);
    expect(p95).toBeLessThan(0.02);
    expect(covered).toBeGreaterThan(0.9);
    expect(covered).toBeLessThan(0.99);
  });

  it.each(results.map((result) => [result.file, result] as const))(
    'reference: %s',
    (_, { worst, kind, response, angleDeg, bowPx }) => {
      // Outside the model (sharpened, skewed) the departure is followed only as far as the noise lets it be seen.
      expect(worst).toBeLessThan(kind === 'skewed' || kind === 'sharpened' ? 0.035 : 0.022);
      expect(Math.abs(Math.abs(response.edgeAngleDeg) - Math.abs(angleDeg))).toBeLessThan(0.05);
      expect(Math.abs(response.edgeBowPx - bowPx * Math.cos((angleDeg * Math.PI) / 180))).toBeLessThan(0.06);
    },
  );
});
