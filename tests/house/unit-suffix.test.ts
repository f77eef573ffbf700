import { describe, expect, it } from 'vitest';
import { sourcesBelow } from './sources.js';
import { fieldsWithoutUnit, saysItsUnit } from './unit-suffix.js';

describe('unit suffixes', () => {
  it('property: every numeric field says its unit or is on the dimensionless list', () => {
    const sources = sourcesBelow('src').filter(({ path }) => !path.startsWith('src/web/'));
    expect(sources.length).toBeGreaterThan(10);
    expect(fieldsWithoutUnit(sources), 'add the unit, or the name to tests/house/dimensionless-names.json').toEqual([]);
  });

  it.each([
    'focalPowerDpt',
    'pixelPitchUm',
    'spatialFrequencyPerMm',
    'powerPerCurrentDptPerMa',
    'areaMm2',
    'widthPx',
    'driftDptPerDegC',
  ])('closed form: %s says its unit', (name) => expect(saysItsUnit(name)).toBe(true));

  it.each(['frameCount', 'edgeContrast', 'fNumber', 'workingFNumber'])('closed form: %s is dimensionless', (name) =>
    expect(saysItsUnit(name)).toBe(true),
  );

  it.each(['workingDistance', 'distancemm', 'temperature', 'class', 'FORMS', 'discount'])('refuses %s', (name) =>
    expect(saysItsUnit(name)).toBe(false),
  );

  it.each([
    'export interface A {\n  distance: number;\n}',
    'export interface A {\n  distance?: readonly number[];\n}',
    'export type A = { kind: "a" } | {\n  distance: number | null };',
    'export const a = z.object({\n  distance: z.number().positive(),\n});',
  ])('refuses a planted field: %s', (text) => {
    expect(fieldsWithoutUnit([{ path: 'src/optics/a.ts', text }])).toEqual(['src/optics/a.ts:2 distance']);
  });
});
