import { fixedLensFromGroups, type LayoutModel, traceSystem } from '../optics/index.js';
import type { Station } from './schema.js';

/**
 * The optical model of a station as its file describes it, without tolerances.
 *
 * Model    missing pupil magnification is taken as 1 (with groups: as they make it); missing principal plane as half the focal length behind the
 *          mechanical front (at-stop: plane of the front group). `assumptionsOf` says so to the reader.
 */
export function layoutModelOf(station: Station): LayoutModel {
  const { fixedLens, tunableLens, spacer } = station.parts;
  const { tunableLensAt, gapMm, fNumber, ringDistanceMm } = station.layout;
  return {
    fixedLens: {
      focalLengthMm: fixedLens.focalLengthMm,
      fNumber,
      pupilMagnification: fixedLens.pupilMagnification ?? pupilMagnificationOfGroups(station) ?? 1,
      groups: fixedLens.groups,
    },
    tunableLensAt,
    clearApertureMm: tunableLens.clearApertureMm,
    gapMm,
    ringDistanceMm,
    spacerMm: spacer.lengthMm,
    frontOffsetMm:
      tunableLensAt === 'object-side'
        ? tunableLens.frontToPlaneMm
        : (fixedLens.frontToPrincipalMm ?? fixedLens.focalLengthMm / 2),
  };
}

function pupilMagnificationOfGroups({ parts, layout }: Station): number | null {
  const { groups } = parts.fixedLens;
  return groups ? fixedLensFromGroups({ groups, fNumber: layout.fNumber }).pupilMagnification : null;
}

/** Why the parts cannot be laid out as the file says, in words; `null` where they can. */
export function layoutProblem(station: Station): string | null {
  try {
    traceSystem({ model: layoutModelOf(station), focalPowerDpt: 0 });
    return null;
  } catch (error) {
    if (error instanceof RangeError) return `cannot be built: ${error.message}`;
    throw error;
  }
}
