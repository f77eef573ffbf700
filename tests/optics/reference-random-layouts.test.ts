import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  type FieldPupil,
  fieldIllumination,
  fieldMtf,
  fieldPupil,
  type LayoutModel,
  pupilShapeOtf,
  traceSystem,
} from '../../src/optics/index.js';

type Complex = readonly [real: number, imaginary: number];

interface Expected {
  workingDistanceMm: number;
  magnification: number;
  limitingStop: string;
  workingFNumber: number;
  objectNumericalAperture: number;
  entrancePupilDiameterMm: number;
  entrancePupilPositionMm: number;
  exitPupilDiameterMm: number;
  exitPupilPositionMm: number;
  illumination: { imageHeightMm: number; relativeIllumination: number; everyRay: number };
  axisOtf: { defocusWaves: number; comaWaves: number; comaAzimuthRad: number; otf: Complex[] };
  cornerOtf?: { defocusWaves: number; chiefSlope: number; tangential: Complex[]; sagittal: Complex[] };
}

/** Made by references/layouts/make_random_layouts.py: numpy matrices, Monte Carlo rays, FFT. */
const reference: {
  normalisedFrequency: number[];
  layouts: { model: LayoutModel; focalPowerDpt: number; expected: Expected }[];
} = JSON.parse(readFileSync(new URL('../../references/layouts/random-layouts.json', import.meta.url), 'utf8'));

const rows = reference.layouts.map((row, i) => ({ ...row, name: `${i} (${row.model.tunableLensAt})` }));

/** The largest of many differences, with where it is. */
const worst = (differences: [where: string, difference: number][]) =>
  differences.reduce((a, b) => (b[1] > a[1] ? b : a), ['none', 0]);

describe('two hundred random layouts against numpy', () => {
  it('reference: focus, magnification, stop, pupils and aperture by ABCD matrices, to 1e-6', () => {
    expect(rows).toHaveLength(200);
    const differences = rows.flatMap(({ model, focalPowerDpt, expected, name }): [string, number][] => {
      const traced = traceSystem({ model, focalPowerDpt });
      if (traced.focus.kind !== 'real') throw new Error(`${name}: ${traced.focus.kind}`);
      expect(traced.limitingStop, name).toBe(expected.limitingStop);
      const found = {
        workingDistanceMm: traced.focus.workingDistanceMm,
        magnification: traced.magnification,
        workingFNumber: traced.workingFNumber,
        objectNumericalAperture: traced.objectNumericalAperture,
        entrancePupilDiameterMm: traced.entrancePupil.diameterMm,
        entrancePupilPositionMm: traced.entrancePupil.positionMm,
        exitPupilDiameterMm: traced.exitPupil.diameterMm,
        exitPupilPositionMm: traced.exitPupil.positionMm,
      };
      return Object.entries(found).map(([key, value]) => {
        const wanted = expected[key as keyof typeof found];
        return [`${name} ${key}`, Math.abs(value - wanted) / Math.max(Math.abs(wanted), 1e-3)];
      });
    });
    expect(worst(differences)[1]).toBeLessThan(1e-6);
  });

  it('reference: relative illumination by rays that pass both stops, to 1e-3', () => {
    const differences = rows.map(({ model, focalPowerDpt, expected, name }): [string, number] => {
      const { imageHeightMm, relativeIllumination } = expected.illumination;
      const found = fieldIllumination({ model, focalPowerDpt, imageHeightMm });
      return [name, Math.abs(found.relativeIllumination - relativeIllumination)];
    });
    expect(rows.filter(({ expected }) => expected.illumination.relativeIllumination < 0.6).length).toBeGreaterThan(20);
    expect(worst(differences)[1]).toBeLessThan(1e-3);
  });

  it('reference: with every ray’s own angle instead of the chief ray’s, to 2 %', () => {
    const differences = rows.map(({ model, focalPowerDpt, expected, name }): [string, number] => {
      const { imageHeightMm, everyRay } = expected.illumination;
      const found = fieldIllumination({ model, focalPowerDpt, imageHeightMm });
      return [name, Math.abs(found.relativeIllumination - everyRay)];
    });
    expect(worst(differences)[1]).toBeLessThan(0.02);
  });

  it('reference: defocus and coma in any orientation by FFT, to 1e-4', () => {
    const differences = rows.flatMap(({ expected: { axisOtf }, name }) =>
      reference.normalisedFrequency.map((normalisedFrequency, i): [string, number] => {
        const found = pupilShapeOtf({
          normalisedFrequency,
          discs: [{ centreX: 0, centreY: 0, radius: 1 }],
          ...axisOtf,
        });
        const [real, imaginary] = axisOtf.otf[i]!;
        return [`${name} at ${normalisedFrequency}`, Math.hypot(found.real - real, found.imaginary - imaginary)];
      }),
    );
    expect(worst(differences)[1]).toBeLessThan(1e-4);
  });

  it('reference: the corner’s cut pupil by FFT in both directions, to 1e-4 (1e-3 where a tenth of the light is left)', () => {
    const differences = rows.flatMap(({ model, focalPowerDpt, expected, name }): [string, number][] => {
      const { cornerOtf, illumination } = expected;
      const where = { model, focalPowerDpt, imageHeightMm: illumination.imageHeightMm };
      const pupil = fieldPupil(where);
      // Fewer samples lie in a thin pupil: the FFT itself is then no better.
      const allowed = fieldIllumination(where).unvignettedShare < 0.1 ? 1e-3 : 1e-4;
      if (!cornerOtf) return [];
      expect(pupil.chiefSlope).toBeCloseTo(cornerOtf.chiefSlope, 7);
      return (['tangential', 'sagittal'] as const).flatMap((lines) =>
        reference.normalisedFrequency.map((s, i): [string, number] => {
          const found = fieldMtf({ pupil, lines, ...onReferencePupil(pupil, lines, s, cornerOtf.defocusWaves) });
          return [`${name} ${lines} at ${s}`, Math.abs(found - Math.hypot(...cornerOtf[lines][i]!)) / allowed];
        }),
      );
    });
    expect(differences.length).toBeGreaterThan(1000);
    expect(worst(differences)[1]).toBeLessThan(1);
  });
});

/** Frequency and defocus that are s and W20 on the foreshortened pupil. */
function onReferencePupil(pupil: FieldPupil, lines: 'tangential' | 'sagittal', s: number, defocusWaves: number) {
  const cosine = Math.cos(Math.atan(pupil.chiefSlope));
  const shrink = lines === 'tangential' ? cosine ** 3 : cosine;
  const wavelengthNm = 550;
  const spatialFrequencyPerMm = (s * shrink) / (wavelengthNm * 1e-6 * pupil.workingFNumber);
  return { wavelengthNm, spatialFrequencyPerMm, defocusWaves: defocusWaves / shrink };
}
