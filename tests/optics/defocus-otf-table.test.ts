import { describe, expect, it } from 'vitest';
import { defocusOtf, defocusOtfTable } from '../../src/optics/index.js';

describe('table of the defocus OTF over defocus', () => {
  it('reference: within 1e-6 of the exact function up to 60 waves', () => {
    const normalisedFrequencies = [0, 0.003, 0.02, 0.1, 0.25, 0.45, 0.5, 0.7, 0.95, 0.999, 1, 1.5];
    const table = defocusOtfTable({ normalisedFrequencies, maxDefocusWaves: 60 });
    const otf = new Float64Array(normalisedFrequencies.length);
    for (let k = 0; k <= 700; k++) {
      const defocusWaves = -60 + (120 * k) / 700;
      table.readAll(defocusWaves, otf);
      normalisedFrequencies.forEach((normalisedFrequency, i) => {
        expect(Math.abs(otf[i]! - defocusOtf({ normalisedFrequency, defocusWaves }))).toBeLessThan(1e-6);
      });
    }
  });

  it('degenerate: a small limit still reads at 0 and at the limit', () => {
    const table = defocusOtfTable({ normalisedFrequencies: [0.4], maxDefocusWaves: 0.01 });
    const otf = new Float64Array(1);
    for (const defocusWaves of [0, 0.01, -0.01]) {
      table.readAll(defocusWaves, otf);
      expect(otf[0]).toBeCloseTo(defocusOtf({ normalisedFrequency: 0.4, defocusWaves }), 7);
    }
  });

  it('refuses a defocus beyond its limit, and a limit that is none', () => {
    const table = defocusOtfTable({ normalisedFrequencies: [0.4], maxDefocusWaves: 1 });
    expect(() => table.readAll(1.1, new Float64Array(1))).toThrow(/defocusWaves is 1.1 waves; allowed: .* ≤ 1 waves/);
    expect(() => defocusOtfTable({ normalisedFrequencies: [-1], maxDefocusWaves: 1 })).toThrow(/normalisedFrequencies/);
    expect(() => defocusOtfTable({ normalisedFrequencies: [0.1], maxDefocusWaves: 0 })).toThrow(/maxDefocusWaves is 0/);
  });
});
