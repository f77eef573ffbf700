import { describe, expect, it } from 'vitest';
import { objectVergenceDpt, refractedVergenceDpt, transferredVergenceDpt } from '../../src/optics/index.js';

describe('vergence', () => {
  it('reference: the tunable lens 10 mm before f 16 mm at 3 dpt, from the object to the sensor (computed)', () => {
    const arriving = objectVergenceDpt({ objectDistanceMm: 202.8191 });
    expect(arriving).toBeCloseTo(-4.930502, 5);
    const leaving = refractedVergenceDpt({ vergenceDpt: arriving, powerDpt: 3 });
    expect(leaving).toBeCloseTo(-1.930502, 5);
    const atFixed = transferredVergenceDpt({ vergenceDpt: leaving, gapMm: 10 })!;
    expect(atFixed).toBeCloseTo(-1.893939, 5);
    expect(refractedVergenceDpt({ vergenceDpt: atFixed, powerDpt: 1000 / 16 })).toBeCloseTo(60.606061, 5);
  });

  it('reference: OpenStax, spectacles at 15 mm: far point 300 mm → −3.51 dpt, near point 1 m at 250 mm → +3.24 dpt', () => {
    expect(objectVergenceDpt({ objectDistanceMm: 300 - 15 })).toBeCloseTo(-3.50877, 5);
    const wanted = objectVergenceDpt({ objectDistanceMm: 1000 - 15 });
    const had = objectVergenceDpt({ objectDistanceMm: 250 - 15 });
    expect(wanted - had).toBeCloseTo(3.24009, 5);
  });

  it('degenerate: infinity has vergence 0; at its focus light has none', () => {
    expect(objectVergenceDpt({ objectDistanceMm: null })).toBe(0);
    expect(transferredVergenceDpt({ vergenceDpt: 10, gapMm: 100 })).toBeNull();
  });

  it('refuses an object at the plane itself', () => {
    expect(() => objectVergenceDpt({ objectDistanceMm: 0 })).toThrow(/objectDistanceMm is 0 mm/);
    expect(() => transferredVergenceDpt({ vergenceDpt: Number.NaN, gapMm: 1 })).toThrow(/vergenceDpt is NaN/);
  });
});
