import { describe, expect, it } from 'vitest';
import { discTransform } from '../../src/image/edge/disc-transform.js';
import { discMtf } from './edge-scene.js';

describe('discTransform', () => {
  it('reference: 2 J1(z)/z against numerical integration, to 1e-7', () => {
    for (const z of [0, 0.3, 0.99, 1.01, 2.5, 2.99, 3.01, 5.136, 12, 60, 250]) {
      expect(Math.abs(discTransform(z).value - discMtf(z))).toBeLessThan(1e-7);
    }
  });

  it('closed form: first zero at z = 3.831706 (first zero of J1, Abramowitz & Stegun, table 9.5, from memory)', () => {
    expect(Math.abs(discTransform(3.831706).value)).toBeLessThan(1e-6);
  });

  it('closed form: the slope is the derivative by z²', () => {
    for (const z of [0.5, 0.98, 1.02, 2, 2.9, 3.2, 8, 40]) {
      const h = 1e-3 * z * z;
      const numerical = (discMtf(Math.sqrt(z * z + h)) - discMtf(Math.sqrt(z * z - h))) / (2 * h);
      expect(Math.abs(discTransform(z).slope - numerical)).toBeLessThan(1e-6);
    }
  });
});
