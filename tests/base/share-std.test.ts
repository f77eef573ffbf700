import { describe, expect, it } from 'vitest';
import { shareStd } from '../../src/base/index.js';

describe('standard deviation of a counted share', () => {
  it('closed form: nothing counted: that of an even distribution; many: √(p(1 − p)/n)', () => {
    expect(shareStd({ count: 0, ofCount: 0 })).toBeCloseTo(1 / Math.sqrt(12), 12);
    expect(shareStd({ count: 300, ofCount: 1000 })).toBeCloseTo(Math.sqrt(0.21 / 1000), 4);
  });

  it('property: two of two are not certain, and as uncertain as none of two', () => {
    expect(shareStd({ count: 2, ofCount: 2 })).toBeCloseTo(Math.sqrt(3 / 80), 12);
    expect(shareStd({ count: 0, ofCount: 2 })).toBe(shareStd({ count: 2, ofCount: 2 }));
  });

  it('refuses: more than all, and parts', () => {
    expect(() => shareStd({ count: 3, ofCount: 2 })).toThrow('count');
    expect(() => shareStd({ count: 0.5, ofCount: 2 })).toThrow('count');
  });
});
