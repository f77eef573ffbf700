import { type LayoutModel, withFocalLength } from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import type { Station } from './schema.js';

/** What can be built otherwise than the station file says, and move focus or light. */
export type BuildValueName =
  | 'powerOffsetDpt'
  | 'powerGain'
  | 'ringDistanceRelative'
  | 'spacerMm'
  | 'focalLengthMm'
  | 'gapMm'
  | 'frontOffsetMm'
  | 'fNumberRelative';

/**
 * A value for each. `…Relative` and `frontOffsetMm` are errors, 0 as written; the others are the values themselves.
 * `frontOffsetMm` is the error of the way from the mechanical front to the first optical plane.
 */
export type BuildValues = Record<BuildValueName, number>;

/** The build that the station file describes, without any error. */
export function nominalBuild(station: Station): BuildValues {
  return {
    powerOffsetDpt: 0,
    powerGain: 1,
    ringDistanceRelative: 0,
    spacerMm: station.parts.spacer.lengthMm,
    focalLengthMm: station.parts.fixedLens.focalLengthMm,
    gapMm: station.layout.gapMm,
    frontOffsetMm: 0,
    fNumberRelative: 0,
  };
}

/** One build value: as the station file says, and how far the tolerances let it stray. */
export interface BuildTolerance {
  name: BuildValueName;
  unit: string;
  title: string;
  value: number;
  /** 1σ over built stations; may be 0. */
  std: number;
}

/**
 * Every build value with its tolerance.
 *
 * Model    independent. A ring at infinity has no distance to be wrong by, so its error is left to the spacer; a tunable
 *          lens at the stop has no gap of its own.
 */
export function buildTolerancesOf(station: Station): BuildTolerance[] {
  const { parts, layout } = station;
  const { fixedLens, tunableLens, spacer } = parts;
  const nominal = nominalBuild(station);
  const front = layout.tunableLensAt === 'object-side' ? tunableLens.tolerance.frontToPlaneMm : undefined;
  const all: Omit<BuildTolerance, 'value'>[] = [
    { name: 'powerOffsetDpt', unit: 'dpt', title: 'Lens power at zero command', std: tunableLens.tolerance.offsetDpt },
    { name: 'powerGain', unit: '', title: 'Lens power per command', std: tunableLens.tolerance.gainRelative },
    {
      name: 'ringDistanceRelative',
      unit: '',
      title: 'Focus-ring distance, relative error',
      std: layout.ringDistanceMm === null ? 0 : fixedLens.tolerance.ringDistanceRelative,
    },
    {
      name: 'spacerMm',
      unit: 'mm',
      title: spacer.lengthMm === 0 ? 'Flange distance, no spacer' : 'Spacer length',
      std: spacer.tolerance.lengthMm,
    },
    {
      name: 'focalLengthMm',
      unit: 'mm',
      title: 'Focal length of the fixed lens',
      std: fixedLens.tolerance.focalLengthMm,
    },
    {
      name: 'gapMm',
      unit: 'mm',
      title: 'Gap between tunable and fixed lens',
      std: layout.tunableLensAt === 'at-stop' ? 0 : layout.tolerance.gapMm,
    },
    {
      name: 'frontOffsetMm',
      unit: 'mm',
      title: 'Mechanical front to first optical plane',
      std: front ?? fixedLens.tolerance.frontToPrincipalMm,
    },
    {
      name: 'fNumberRelative',
      unit: '',
      title: 'f-number setting, relative error',
      std: fixedLens.tolerance.fNumberRelative,
    },
  ];
  return all.map((tolerance) => ({ ...tolerance, value: nominal[tolerance.name] }));
}

/**
 * The layout as built with given values.
 *
 * Model    the station's layout; a lens of another focal length is the same design in proportion
 * Throws   RangeError for a build that cannot be made (negative ring distance …).
 * Checked  degenerate: the nominal build is layoutModelOf, tests/station/build.test.ts
 */
export function layoutAsBuilt(station: Station, build: BuildValues): LayoutModel {
  const nominal = layoutModelOf(station);
  const { ringDistanceMm } = nominal;
  const fixedLens = withFocalLength({ fixedLens: nominal.fixedLens, focalLengthMm: build.focalLengthMm });
  return {
    ...nominal,
    fixedLens: { ...fixedLens, fNumber: fixedLens.fNumber * (1 + build.fNumberRelative) },
    ringDistanceMm: ringDistanceMm === null ? null : ringDistanceMm * (1 + build.ringDistanceRelative),
    spacerMm: build.spacerMm,
    gapMm: build.gapMm,
    frontOffsetMm: nominal.frontOffsetMm + build.frontOffsetMm,
  };
}
