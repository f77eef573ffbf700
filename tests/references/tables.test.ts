import { describe, expect, it } from 'vitest';
import {
  defocusOtf,
  diffractionMtf,
  diffractionMtfInverse,
  lensPair,
  workingDistanceAt,
} from '../../src/optics/index.js';
import { readJson } from './folder.js';

describe('optics against the tables computed with numpy', () => {
  it('reference: defocused OTF, 9 × 12 values', () => {
    const table = readJson<{ normalisedFrequency: number[]; rows: { defocusWaves: number; otf: number[] }[] }>(
      'tables/defocus-otf.json',
    );
    expect(table.rows).toHaveLength(9);
    for (const { defocusWaves, otf } of table.rows) {
      for (const [i, normalisedFrequency] of table.normalisedFrequency.entries()) {
        expect(Math.abs(defocusOtf({ normalisedFrequency, defocusWaves }) - otf[i]!)).toBeLessThan(1e-9);
      }
    }
  });

  it('reference: diffraction MTF and its inverse', () => {
    const table = readJson<{
      rows: { normalisedFrequency: number; mtf: number }[];
      inverse: { mtf: number; normalisedFrequency: number }[];
    }>('tables/diffraction.json');
    for (const row of table.rows) expect(diffractionMtf(row.normalisedFrequency)).toBeCloseTo(row.mtf, 11);
    for (const row of table.inverse) expect(diffractionMtfInverse(row.mtf)).toBeCloseTo(row.normalisedFrequency, 9);
  });

  it('reference: tunable lens before a fixed lens, distance and magnification', () => {
    const table = readJson<{
      gapMm: number;
      focalLengthMm: number;
      imageDistanceMm: number;
      rows: { focalPowerDpt: number; objectDistanceMm: number; magnification: number }[];
    }>('tables/tunable-pair.json');
    const { focalLengthMm, gapMm, imageDistanceMm } = table;
    for (const row of table.rows) {
      const focused = workingDistanceAt({
        model: {
          fixedLens: { focalLengthMm, fNumber: 4, pupilMagnification: 1 },
          tunableLensAt: 'object-side',
          clearApertureMm: 16,
          gapMm,
          ringDistanceMm: null,
          spacerMm: imageDistanceMm - focalLengthMm,
          frontOffsetMm: 0,
        },
        focalPowerDpt: row.focalPowerDpt,
      });
      if (row.objectDistanceMm < 0) {
        expect(focused.kind).toBe('beyond-infinity');
      } else {
        expect(focused).toMatchObject({ kind: 'real' });
        expect(focused.kind === 'real' && focused.workingDistanceMm).toBeCloseTo(row.objectDistanceMm, 6);
        expect(focused.magnification).toBeCloseTo(row.magnification, 9);
      }
    }
  });

  it('reference: two thin lenses as one', () => {
    const table = readJson<{ rows: Record<string, number>[] }>('tables/gullstrand.json');
    expect(table.rows).toHaveLength(5);
    for (const row of table.rows) {
      const pair = lensPair({
        firstPowerDpt: row.focalPower1Dpt!,
        secondPowerDpt: row.focalPower2Dpt!,
        gapMm: row.gapMm!,
      });
      expect(pair.powerDpt).toBeCloseTo(row.focalPowerDpt!, 9);
      expect(pair.focalLengthMm).toBeCloseTo(row.effectiveFocalLengthMm!, 8);
      expect(pair.backFocalDistanceMm).toBeCloseTo(row.backFocalDistanceMm!, 8);
      expect(pair.frontFocalDistanceMm).toBeCloseTo(row.frontFocalDistanceMm!, 8);
    }
  });
});
