import { describe, expect, it } from 'vitest';
import { checkFormatLabel, sensorSize } from '../../src/optics/index.js';

describe('sensor format', () => {
  // Dimensions from memory plus arithmetic, except 1/2 inch and the 1 inch diagonal (published).
  it.each([
    [1 / 2.9, 1440, 1080, 6.21],
    [1 / 1.8, 2048, 1536, 8.832],
    [2 / 3, 2448, 2048, 11.011],
    [1.1, 4096, 3000, 17.516],
  ])('reference: %d inch by %d × %d pixels of 3.45 µm', (formatInch, columns, rows, diagonal) => {
    const { diagonalMm } = sensorSize({ columns, rows, pixelPitchUm: 3.45 });
    expect(diagonalMm).toBeCloseTo(diagonal, 3);
    expect(checkFormatLabel({ formatInch, diagonalMm }).fits).toBe(true);
  });

  it('closed form: 6.4 × 4.8 mm is 8.0 mm, exactly 1/2 inch; 1/3 inch is 6 mm', () => {
    expect(checkFormatLabel({ formatInch: 1 / 2, diagonalMm: 8 })).toEqual({
      labelDiagonalMm: 8,
      relativeDifference: 0,
      fits: true,
    });
    expect(checkFormatLabel({ formatInch: 1 / 3, diagonalMm: 6 }).labelDiagonalMm).toBeCloseTo(6, 12);
  });

  it('property: a name more than 5 % off does not fit', () => {
    expect(checkFormatLabel({ formatInch: 1, diagonalMm: 15.1 }).fits).toBe(false);
    expect(checkFormatLabel({ formatInch: 1, diagonalMm: 15.3 }).fits).toBe(true);
  });

  it('refuses half pixels and no pitch', () => {
    expect(() => sensorSize({ columns: 10.5, rows: 10, pixelPitchUm: 3 })).toThrow(/columns is 10.5/);
    expect(() => sensorSize({ columns: 10, rows: 10, pixelPitchUm: 0 })).toThrow(/pixelPitchUm/);
    expect(() => checkFormatLabel({ formatInch: 0, diagonalMm: 8 })).toThrow(/formatInch/);
  });
});
