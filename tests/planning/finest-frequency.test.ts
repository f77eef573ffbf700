import { describe, expect, it } from 'vitest';
import { diffractionMtf, diffractionMtfInverse } from '../../src/optics/index.js';
import { finestFrequency } from '../../src/planning/finest-frequency.js';

const cutoff = 400;
const search = { mtfAt: (perMm: number) => diffractionMtf(perMm / cutoff), contrastNeeded: 0.3, nyquistPerMm: 1000 };

describe('finest frequency', () => {
  it.each([[10], [200], [390]])(
    'closed form: inverse of the diffraction MTF, from a start at %d lp/mm',
    (startPerMm) => {
      const found = finestFrequency({ ...search, startPerMm });
      expect(found?.limitedBy).toBe('contrast');
      expect(Math.abs(found!.frequencyPerMm / (cutoff * diffractionMtfInverse(0.3)) - 1)).toBeLessThan(2e-4);
    },
  );

  it('degenerate: with contrast to spare at the Nyquist limit, sampling ends it', () => {
    for (const startPerMm of [5, 5000]) {
      const found = finestFrequency({ ...search, startPerMm, nyquistPerMm: 100 });
      expect(found).toEqual({ frequencyPerMm: 100, limitedBy: 'sampling' });
    }
  });

  it('degenerate: no pattern has the contrast', () => {
    expect(finestFrequency({ ...search, mtfAt: () => 0.1, startPerMm: 50 })).toBeNull();
  });
});
