import { describe, expect, it } from 'vitest';
import {
  closeUpDepthOfFieldMm,
  hyperfocalDistanceMm,
  lensPair,
  stepOvershoot,
  stepSettlingTimeMs,
  thinLensDepthOfField,
  thinLensImage,
  touchingLensesPowerDpt,
  waveDepthOfFieldUm,
  zeroVibrationDerivativeShaper,
  zeroVibrationShaper,
} from '../../src/optics/index.js';
import { readJson } from './folder.js';

/** Relative to the table, whose numbers carry twelve digits. */
function expectSame(found: number | null, wanted: number) {
  expect(found).not.toBeNull();
  expect(Math.abs(found! / wanted - 1)).toBeLessThan(1e-10);
}

type Numbers = Record<string, number>;

describe('thin lenses against OpenStax, University Physics 3 (references/tables/thin-lens-examples.json)', () => {
  const table = readJson<{
    conjugates: { focalLengthMm: number; objectDistanceMm: number; imageDistanceMm: number; magnification: number }[];
    twoLensChain: Numbers;
    touching: Numbers;
  }>('tables/thin-lens-examples.json');

  it('reference: ten worked examples of one lens', () => {
    expect(table.conjugates).toHaveLength(10);
    for (const { focalLengthMm, objectDistanceMm, imageDistanceMm, magnification } of table.conjugates) {
      const image = thinLensImage({ focalLengthMm, objectDistanceMm });
      expectSame(image.imageDistanceMm, imageDistanceMm);
      expectSame(image.magnification, magnification);
    }
  });

  it('reference: the chain of two lenses, image of the first as object of the second', () => {
    const chain = table.twoLensChain;
    const first = thinLensImage({
      focalLengthMm: chain.focalLength1Mm!,
      objectDistanceMm: chain.objectDistanceMm!,
    });
    const second = thinLensImage({
      focalLengthMm: chain.focalLength2Mm!,
      objectDistanceMm: chain.gapMm! - first.imageDistanceMm!,
    });
    expectSame(first.imageDistanceMm, chain.imageDistance1Mm!);
    expectSame(second.imageDistanceMm, chain.imageDistance2Mm!);
    expectSame(first.magnification! * second.magnification!, chain.magnification!);
  });

  it('reference: the eye’s two powers in touch', () => {
    const { focalLength1Mm, focalLength2Mm, focalPowerDpt, focalLengthMm } = table.touching;
    const powers = [1000 / focalLength1Mm!, 1000 / focalLength2Mm!] as const;
    expectSame(touchingLensesPowerDpt([...powers]), focalPowerDpt!);
    const pair = lensPair({ firstPowerDpt: powers[0], secondPowerDpt: powers[1], gapMm: 0 });
    expectSame(pair.focalLengthMm, focalLengthMm!);
  });
});

describe('depth of field against the exact thin-lens limits (references/tables/depth-of-field.json)', () => {
  const table = readJson<{ rows: Numbers[]; wave: Numbers[] }>('tables/depth-of-field.json');

  it('reference: hyperfocal distance, limits and close-up form of four cases', () => {
    expect(table.rows).toHaveLength(4);
    for (const row of table.rows) {
      const lens = { focalLengthMm: row.focalLengthMm!, fNumber: row.fNumber!, blurDiameterUm: row.blurDiscUm! };
      expectSame(hyperfocalDistanceMm(lens), row.hyperfocalDistanceMm!);
      const depth = thinLensDepthOfField({ ...lens, objectDistanceMm: row.objectDistanceMm! });
      expectSame(depth.nearMm, row.nearLimitMm!);
      expectSame(depth.farMm, row.farLimitMm!);
      expectSame(depth.totalMm, row.depthMm!);
      const close = { ...lens, magnification: row.magnification!, pupilMagnification: 1 };
      expectSame(closeUpDepthOfFieldMm(close), row.closeUpDepthMm!);
    }
  });

  it('reference: n·λ/NA² of Keiser, Biophotonics, example 8.4', () => {
    expect(table.wave).toHaveLength(2);
    for (const { refractiveIndex, wavelengthNm, numericalAperture, depthUm } of table.wave) {
      expectSame(
        waveDepthOfFieldUm({
          refractiveIndex: refractiveIndex!,
          wavelengthNm: wavelengthNm!,
          numericalAperture: numericalAperture!,
        }),
        depthUm!,
      );
    }
  });
});

describe('second-order response against scipy’s root finding (references/tables/second-order.json)', () => {
  const table = readJson<{
    shapers: {
      naturalFrequencyHz: number;
      dampingRatio: number;
      zvAmplitudes: number[];
      zvdAmplitudes: number[];
      halfPeriodMs: number;
      overshoot: number;
    }[];
    settlingTimesNaturalFrequency: { dampingRatio: number; settling2Pct: number; settling5Pct: number }[];
  }>('tables/second-order.json');

  it('reference: shapers of Singer and Seering, and overshoot, of four systems', () => {
    expect(table.shapers).toHaveLength(4);
    for (const { zvAmplitudes, zvdAmplitudes, halfPeriodMs, overshoot, ...row } of table.shapers) {
      const system = { naturalFrequencyHz: row.naturalFrequencyHz, dampingRatio: row.dampingRatio };
      const two = zeroVibrationShaper(system);
      const three = zeroVibrationDerivativeShaper(system);
      expect(two).toHaveLength(2);
      expect(three).toHaveLength(3);
      for (const [i, { share }] of two.entries()) expectSame(share, zvAmplitudes[i]!);
      for (const [i, { share }] of three.entries()) expectSame(share, zvdAmplitudes[i]!);
      expectSame(two[1]!.atMs, halfPeriodMs);
      expectSame(three[2]!.atMs, 2 * halfPeriodMs);
      expectSame(stepOvershoot({ ...system, deadTimeMs: 0 }).overshoot, overshoot);
    }
  });

  it('reference: last crossing of 2 % and 5 % at ten damping ratios, ω = 1 per ms', () => {
    expect(table.settlingTimesNaturalFrequency).toHaveLength(10);
    for (const { dampingRatio, settling2Pct, settling5Pct } of table.settlingTimesNaturalFrequency) {
      const system = { naturalFrequencyHz: 1000 / (2 * Math.PI), dampingRatio, deadTimeMs: 0 };
      expect(stepSettlingTimeMs({ ...system, fraction: 0.02 })).toBeCloseTo(settling2Pct, 6);
      expect(stepSettlingTimeMs({ ...system, fraction: 0.05 })).toBeCloseTo(settling5Pct, 6);
    }
  });
});
