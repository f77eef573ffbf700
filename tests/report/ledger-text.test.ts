import { describe, expect, it } from 'vitest';
import { unitsKept } from '../../src/report/index.js';

describe('texts of the ledger', () => {
  it('property: no line ends between a number and its unit, other spaces stay', () => {
    expect(unitsKept('Contrast at the task frequency at 419 mm')).toBe('Contrast at the task frequency at 419\u202Fmm');
    expect(unitsKept('needs 1.03 dpt, 12 % of 3 px in 2 ms')).toBe(
      'needs 1.03\u202Fdpt, 12\u202F% of 3\u202Fpx in 2\u202Fms',
    );
    expect(unitsKept('3 planes take 2 more')).toBe('3 planes take 2 more');
    expect(unitsKept('2 mmm')).toBe('2 mmm');
  });
});
