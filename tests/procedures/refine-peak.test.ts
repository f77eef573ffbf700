import { describe, expect, it } from 'vitest';
import { climb, profileAlongFirst } from '../../src/procedures/autofocus/model/refine-peak.js';

/** Logarithm of a normal density about (1, −2), standard deviations 0.3 and 0.5, correlated by 0.9. */
const correlation = 0.9;
const normal = (place: Float64Array): number => {
  const x = (place[0]! - 1) / 0.3;
  const y = (place[1]! + 2) / 0.5;
  return -(x * x - 2 * correlation * x * y + y * y) / (2 * (1 - correlation ** 2));
};

describe('peak of a log density', () => {
  it('closed form: climbs to the top of a correlated normal density', () => {
    const { place, logDensity } = climb({ start: [0.4, -1.2], steps: [0.2, 0.2], logDensity: normal });
    expect(place[0]).toBeCloseTo(1, 2);
    expect(place[1]).toBeCloseTo(-2, 2);
    expect(logDensity).toBeCloseTo(0, 3);
  });

  it('closed form: the profile of one unknown is its own normal density, and its integral is 2π·σ₁·σ₂·√(1 − r²)', () => {
    const top = climb({ start: [0.9, -2.1], steps: [0.2, 0.2], logDensity: normal });
    const profile = profileAlongFirst({ top, farthest: 3, logDensity: normal });
    let mass = 0;
    let square = 0;
    profile.forEach(({ place, logMass, logDensity }, i) => {
      const x = place[0]! - 1;
      expect(logDensity).toBeCloseTo(-(x ** 2) / (2 * 0.3 ** 2), 2);
      const low = profile[Math.max(0, i - 1)]!.place[0]!;
      const high = profile[Math.min(profile.length - 1, i + 1)]!.place[0]!;
      mass += (Math.exp(logMass) * (high - low)) / 2;
      square += (Math.exp(logMass) * x ** 2 * (high - low)) / 2;
    });
    expect(mass / (2 * Math.PI * 0.3 * 0.5 * Math.sqrt(1 - correlation ** 2))).toBeCloseTo(1, 1);
    expect(Math.sqrt(square / mass)).toBeCloseTo(0.3, 1);
  });

  it('degenerate: a direction that tells nothing is held where it is', () => {
    const alongFirst = (place: Float64Array) => -((place[0]! - 1) ** 2);
    const { place } = climb({ start: [0, 5], steps: [0.3, 0], logDensity: alongFirst });
    expect(place[0]).toBeCloseTo(1, 2);
    expect(place[1]).toBe(5);
  });
});
