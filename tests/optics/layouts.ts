import fc from 'fast-check';
import { fixedLensFromGroups, type LayoutModel, type LensGroups } from '../../src/optics/index.js';

/** A thin tunable lens 10 mm before a thin f = 16 mm lens, sensor 16.5 mm behind it: references/tables/tunable-pair.json. */
export const tunablePair: LayoutModel = {
  fixedLens: { focalLengthMm: 16, fNumber: 2.8, pupilMagnification: 1 },
  tunableLensAt: 'object-side',
  clearApertureMm: 16,
  gapMm: 10,
  ringDistanceMm: null,
  spacerMm: 0.5,
  frontOffsetMm: 0,
};

export const groups: LensGroups = { frontFocalLengthMm: 60, frontToStopMm: 12, stopToRearMm: 9, rearFocalLengthMm: 40 };

export const imageSide: LayoutModel = {
  ...tunablePair,
  fixedLens: { focalLengthMm: 35, fNumber: 5.6, pupilMagnification: 0.8 },
  tunableLensAt: 'image-side',
  gapMm: 12,
  ringDistanceMm: 400,
  frontOffsetMm: 18,
};

export const atStop: LayoutModel = {
  ...tunablePair,
  fixedLens: fixedLensFromGroups({ groups, fNumber: 5.6 }),
  tunableLensAt: 'at-stop',
  gapMm: 0,
  ringDistanceMm: 500,
  frontOffsetMm: 10,
};

export const threeLayouts: [string, LayoutModel][] = [
  ['object-side', { ...tunablePair, frontOffsetMm: 4 }],
  ['at-stop', atStop],
  ['image-side', imageSide],
];

const between = (min: number, max: number) => fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

/** Buildable layouts of all three kinds, as they occur in machine vision. */
export const anyLayout: fc.Arbitrary<LayoutModel> = fc
  .record({
    tunableLensAt: fc.constantFrom('object-side' as const, 'at-stop' as const, 'image-side' as const),
    focalLengthMm: between(8, 75),
    fNumber: between(1.4, 16),
    pupilMagnification: between(0.5, 2),
    clearApertureMm: between(5, 30),
    gapFraction: between(0.05, 0.8),
    ringFocalLengths: fc.option(between(5, 100), { nil: null }),
    spacerMm: between(0, 5),
    frontOffsetMm: between(-5, 20),
    frontPower: between(0.3, 0.7),
    stopFraction: between(0.05, 0.3),
  })
  .map((draw) => {
    const f = draw.focalLengthMm;
    const lensGroups: LensGroups = {
      frontFocalLengthMm: f / draw.frontPower,
      frontToStopMm: f * draw.stopFraction,
      stopToRearMm: f * draw.stopFraction * 0.7,
      rearFocalLengthMm: f / (1 - draw.frontPower),
    };
    const inStop = draw.tunableLensAt === 'at-stop';
    return {
      fixedLens: inStop
        ? fixedLensFromGroups({ groups: lensGroups, fNumber: draw.fNumber })
        : { focalLengthMm: f, fNumber: draw.fNumber, pupilMagnification: draw.pupilMagnification },
      tunableLensAt: draw.tunableLensAt,
      clearApertureMm: draw.clearApertureMm,
      gapMm: inStop ? 0 : draw.gapFraction * f,
      ringDistanceMm: draw.ringFocalLengths === null ? null : draw.ringFocalLengths * 2 * f,
      spacerMm: draw.spacerMm,
      frontOffsetMm: draw.frontOffsetMm,
    };
  });
