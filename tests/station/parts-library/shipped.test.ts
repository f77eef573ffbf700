import { describe, expect, it } from 'vitest';
import { loadParts } from '../../../src/app/index.js';
import type { PartsLibrary } from '../../../src/station/index.js';

const parts: PartsLibrary = await loadParts();
const all = Object.values(parts).flat() as { name: string; source: string }[];

describe('shipped parts library', () => {
  it('property: at least 60 parts of every kind, each marked as invented', () => {
    expect(all.length).toBeGreaterThanOrEqual(60);
    for (const list of Object.values(parts)) expect(list.length).toBeGreaterThan(5);
    expect(all.filter(({ source }) => source !== 'invented')).toEqual([]);
  });

  it('property: spans 6 to 75 mm of focal length, 6 to 30 mm of clear aperture, 0 to 50 mm of spacer', () => {
    const span = (values: number[]) => [Math.min(...values), Math.max(...values)];
    expect(span(parts.fixedLenses.map((lens) => lens.focalLengthMm))).toEqual([6, 75]);
    expect(span(parts.tunableLenses.map((lens) => lens.clearApertureMm))).toEqual([6, 30]);
    expect(span(parts.spacers.map((spacer) => spacer.lengthMm))).toEqual([0, 50]);
  });

  it('reference: sensors are as large as their format says, to 5 % (format names: rule of reference table 1.4)', () => {
    for (const { name, widthPx, heightPx, pixelPitchUm } of parts.sensors) {
      const [, above, below] = /^Sensor ([\d.]+)(?:\/([\d.]+))?″/.exec(name)!;
      const inches = Number(above) / Number(below ?? 1);
      const diagonalMm = (Math.hypot(widthPx, heightPx) * pixelPitchUm) / 1000;
      const typicalMm = inches * (inches >= 0.5 ? 16 : 18);
      const aspect = widthPx / heightPx;
      // A wide strip of a format is shorter than its image circle.
      expect(diagonalMm / typicalMm, name).toBeGreaterThan(aspect > 1.45 ? 0.86 : 0.95);
      expect(diagonalMm / typicalMm, name).toBeLessThan(1.05);
    }
  });

  it('property: the larger the tunable lens, the slower and the less range (membranes: Appl. Opt. 62, 4609 (2023))', () => {
    const byAperture = [6, 16, 30].map((mm) => parts.tunableLenses.filter((lens) => lens.clearApertureMm === mm));
    const fastest = byAperture.map((lenses) => Math.max(...lenses.map((lens) => lens.naturalFrequencyHz)));
    const widest = byAperture.map((lenses) => Math.max(...lenses.map((lens) => lens.powerMaxDpt - lens.powerMinDpt)));
    expect(fastest).toEqual([...fastest].sort((a, b) => b - a));
    expect(widest).toEqual([...widest].sort((a, b) => b - a));
  });
});
