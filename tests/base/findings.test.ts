import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  requireFinite,
  requireInteger,
  requireNotNegative,
  requireNumber,
  requirePositive,
  type Verdict,
  worstVerdict,
} from '../../src/base/index.js';

describe('verdicts', () => {
  it('closed form: fails beats marginal beats unknown beats meets; none is unknown', () => {
    expect(worstVerdict(['meets', 'unknown'])).toBe('unknown');
    expect(worstVerdict(['meets', 'marginal', 'unknown'])).toBe('marginal');
    expect(worstVerdict(['marginal', 'fails', 'unknown'])).toBe('fails');
    expect(worstVerdict(['meets', 'meets'])).toBe('meets');
    expect(worstVerdict([])).toBe('unknown');
  });

  it('property: the order does not matter', () => {
    const verdicts = fc.array(fc.constantFrom<Verdict>('meets', 'marginal', 'fails', 'unknown'));
    fc.assert(fc.property(verdicts, (list) => worstVerdict(list) === worstVerdict([...list].reverse())));
  });
});

describe('checks of arguments', () => {
  it('refuses with name, received value, allowed range and unit', () => {
    expect(() => requireNumber('gapMm', Number.NaN, { min: 0, max: 5, unit: 'mm' })).toThrow(
      'gapMm is NaN mm; allowed: a finite number ≥ 0 mm and ≤ 5 mm',
    );
    expect(() => requirePositive('fNumber', 0)).toThrow('fNumber is 0; allowed: a finite number > 0');
    expect(() => requireFinite('gapMm', Number.NaN, 'mm')).toThrow('gapMm is NaN mm; allowed: a finite number');
    expect(() => requireNotNegative('speedMmPerS', -1, 'mm/s')).toThrow(
      'speedMmPerS is -1 mm/s; allowed: a finite number ≥ 0 mm/s',
    );
    expect([requireFinite('a', -2), requireNotNegative('a', 0), requirePositive('a', 3)]).toEqual([-2, 0, 3]);
    expect(() => requireInteger('count', 1.5)).toThrow('count is 1.5; allowed: a whole number');
    expect(() => requireNumber('share', 1, { below: 1 })).toThrow('share is 1; allowed: a finite number < 1');
  });

  it('property: returns what is allowed unchanged', () => {
    fc.assert(
      fc.property(fc.double({ min: -5, max: 5, noNaN: true }), (x) =>
        Object.is(requireNumber('x', x, { min: -5, max: 5 }), x),
      ),
    );
  });
});
