import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { rayleighSeparation, twoPointDip } from '../../src/optics/index.js';

const tables: { rayleighMidToPeak: number } = JSON.parse(
  readFileSync(new URL('../../references/tables/diffraction.json', import.meta.url), 'utf8'),
);

describe('two points', () => {
  // Computed with Bessel functions of scipy (references/tables); texts print a dip of 26.3 to 26.5 %.
  it('reference: at Rayleigh’s distance a circular pupil leaves 0.73503 in the middle, a contrast of 0.1527', () => {
    expect(rayleighSeparation.circle).toBeCloseTo(1.2196699, 7);
    const { middleToPeak, contrast } = twoPointDip({ pupil: 'circle', separation: rayleighSeparation.circle });
    expect(middleToPeak).toBeCloseTo(tables.rayleighMidToPeak, 10);
    expect(middleToPeak.toFixed(5)).toBe('0.73503');
    expect(contrast.toFixed(4)).toBe('0.1527');
  });

  it('reference: a slit leaves 8/π² = 0.81057, a contrast of 0.1046', () => {
    const { middleToPeak, contrast } = twoPointDip({ pupil: 'slit', separation: rayleighSeparation.slit });
    expect(middleToPeak).toBeCloseTo(8 / Math.PI ** 2, 14);
    expect(middleToPeak.toFixed(5)).toBe('0.81057');
    expect(contrast.toFixed(4)).toBe('0.1046');
  });

  it('degenerate: two points in one place make one, brighter', () => {
    for (const pupil of ['circle', 'slit'] as const) {
      expect(twoPointDip({ pupil, separation: 0 }).middleToPeak).toBe(1);
    }
  });

  it('property: far apart the middle is dark', () => {
    expect(twoPointDip({ pupil: 'circle', separation: 80 }).middleToPeak).toBeLessThan(1e-4);
    expect(twoPointDip({ pupil: 'slit', separation: 80 }).middleToPeak).toBeLessThan(1e-3);
  });

  it('refuses a negative separation', () => {
    expect(() => twoPointDip({ pupil: 'slit', separation: -1 })).toThrow('separation is -1');
  });
});
