import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  aberratedOtf,
  blurDiscDepthOfField,
  chiefRayMagnification,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  traceSystem,
} from '../../src/optics/index.js';

interface OffFocus {
  workingDistanceMm: number;
  magnification: number;
  blurUm: number;
  defocusWaves: number;
}

interface Reference {
  layouts: {
    model: LayoutModel;
    focalPowerDpt: number;
    expected: {
      workingDistanceMm: number;
      magnification: number;
      limitingStop: string;
      entrancePupilDiameterMm: number;
      entrancePupilPositionMm: number;
      exitPupilDiameterMm: number;
      exitPupilPositionMm: number;
      workingFNumber: number;
      tunableBeamDiameterMm: number;
      off: OffFocus[];
    };
  }[];
  otf: { normalisedFrequency: number[]; rows: { defocusWaves: number; sphericalWaves: number; otf: number[] }[] };
}

const reference: Reference = JSON.parse(
  readFileSync(new URL('../../references/optics/layouts.json', import.meta.url), 'utf8'),
);

/** The stored numbers have 12 digits; the other way of computing loses some of them. */
const expectClose = (found: number, expected: number) =>
  expect(Math.abs(found - expected)).toBeLessThan(1e-8 * (1 + Math.abs(expected)));

describe('layouts against numpy', () => {
  it.each(reference.layouts.map((row, index) => [index, row.model.tunableLensAt, row] as const))(
    'reference: thin-lens imaging step by step, layout %d (%s)',
    (_index, _kind, { model, focalPowerDpt, expected }) => {
      const traced = traceSystem({ model, focalPowerDpt });
      if (traced.focus.kind !== 'real') throw new Error(traced.focus.kind);
      expectClose(traced.focus.workingDistanceMm, expected.workingDistanceMm);
      expectClose(traced.magnification, expected.magnification);
      expect(traced.limitingStop).toBe(expected.limitingStop);
      expectClose(traced.entrancePupil.diameterMm, expected.entrancePupilDiameterMm);
      expectClose(traced.entrancePupil.positionMm, expected.entrancePupilPositionMm);
      expectClose(traced.exitPupil.diameterMm, expected.exitPupilDiameterMm);
      expectClose(traced.exitPupil.positionMm, expected.exitPupilPositionMm);
      expectClose(traced.workingFNumber, expected.workingFNumber);
      expectClose(traced.tunableBeamDiameterMm, expected.tunableBeamDiameterMm);
      const power = focalPowerAt({ model, workingDistanceMm: expected.workingDistanceMm });
      expectClose(power.kind === 'power' ? power.focalPowerDpt : Number.NaN, focalPowerDpt);
      for (const off of expected.off) {
        const where = { model, focalPowerDpt, workingDistanceMm: off.workingDistanceMm };
        expectClose(chiefRayMagnification(where), off.magnification);
        expectClose(layoutDefocusWaves({ ...where, wavelengthNm: 550 }), off.defocusWaves);
        // The distance with this blur is the limit of the depth of field by this blur.
        const depth = blurDiscDepthOfField({ model, focalPowerDpt, blurDiameterUm: off.blurUm });
        const limitMm = off.workingDistanceMm < expected.workingDistanceMm ? depth.nearMm : depth.farMm!;
        expectClose(limitMm, off.workingDistanceMm);
      }
    },
  );

  it.each(reference.otf.rows)(
    'reference: FFT of a sampled pupil, W20 $defocusWaves, W040 $sphericalWaves, to 5e-6',
    ({ defocusWaves, sphericalWaves, otf }) => {
      reference.otf.normalisedFrequency.forEach((normalisedFrequency, i) => {
        const found = aberratedOtf({ normalisedFrequency, defocusWaves, sphericalWaves });
        expect(Math.abs(found - otf[i]!)).toBeLessThan(5e-6);
      });
    },
  );
});
