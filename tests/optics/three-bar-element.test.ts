import { describe, expect, it } from 'vitest';
import { threeBarElementAt, threeBarLinePairsPerMm } from '../../src/optics/index.js';

describe('three-bar element', () => {
  // Published table (MIL-STD-150A tables as reprinted): rows are elements, columns groups −2 … 7.
  it.each([
    [1, ['0.250', '0.500', '1.00', '2.00', '4.00', '8.00', '16.00', '32.0', '64.0', '128.0']],
    [2, ['0.281', '0.561', '1.12', '2.24', '4.49', '8.98', '17.96', '35.9', '71.8', '143.7']],
    [3, ['0.315', '0.630', '1.26', '2.52', '5.04', '10.08', '20.16', '40.3', '80.6', '161.3']],
    [4, ['0.354', '0.707', '1.41', '2.83', '5.66', '11.31', '22.63', '45.3', '90.5', '181.0']],
    [5, ['0.397', '0.794', '1.59', '3.17', '6.35', '12.70', '25.40', '50.8', '101.6', '203.2']],
    [6, ['0.445', '0.891', '1.78', '3.56', '7.13', '14.25', '28.51', '57.0', '114.0', '228.1']],
  ] as const)('reference: published line pairs per mm of element %d in all groups', (element, printed) => {
    printed.forEach((text, i) => {
      const decimals = text.split('.')[1]!.length;
      const group = i - 2;
      const linePairsPerMm = threeBarLinePairsPerMm({ group, element });
      expect(linePairsPerMm.toFixed(decimals)).toBe(text);
      expect(threeBarElementAt(linePairsPerMm)).toEqual({ group, element, linePairsPerMm });
      expect(threeBarElementAt(linePairsPerMm * 1.1)).toMatchObject({ group, element });
    });
  });

  it('refuses: no such element, no frequency', () => {
    expect(() => threeBarLinePairsPerMm({ group: 1, element: 7 })).toThrow(/element is 7/);
    expect(() => threeBarElementAt(0)).toThrow(/linePairsPerMm is 0 lp\/mm/);
  });
});
