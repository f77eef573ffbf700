import { type ColourLine, defocusWavesFromImageShift } from '../../optics/index.js';
import { type ComaPupilOtf, comaPupilOtf } from './coma-pupil-otf.js';
import { fastPupilOtf } from './pupil-otf.fast.js';
import type { PupilOtf } from './pupil-otf.js';

/** One wavelength of the light in one exposure. */
export interface LightLine {
  weight: number;
  /** Wavelength over that of the centre. */
  wavelengthRatio: number;
  /** Defocus of its own focus, in waves of the centre. */
  shiftWaves: number;
  /** In its own waves. */
  sphericalWaves: number;
}

/** A wavelength with its pupil. */
export interface PupilLine<Pupil> extends LightLine {
  pupil: Pupil;
}

/** The light of one exposure: round pupils, or pupils whose coma makes the blur depend on direction. */
export type ExposureLight =
  | { kind: 'round'; lines: PupilLine<PupilOtf>[] }
  | { kind: 'directed'; lines: PupilLine<ComaPupilOtf>[] };

/** Aberrations of a light of many wavelengths are rounded to this, so that a few pupils serve them all. */
const aberrationStepWaves = 0.01;
const rounded = (waves: number): number => aberrationStepWaves * Math.round(waves / aberrationStepWaves);

/**
 * Wavelengths of a spectrum as an exposure sees them.
 *
 * Model    path errors of the lens are the same length at every wavelength, so in waves they go as 1/λ; each wavelength has
 *          the focus that layoutSpectrum gives it
 */
export function linesOfSpectrum({
  spectrum,
  wavelengthNm,
  workingFNumber,
  sphericalWaves,
}: {
  spectrum: readonly ColourLine[];
  wavelengthNm: number;
  workingFNumber: number;
  /** In waves of the centre. */
  sphericalWaves: number;
}): LightLine[] {
  return spectrum.map((line) => {
    const wavelengthRatio = line.wavelengthNm / wavelengthNm;
    return {
      weight: line.weight,
      wavelengthRatio,
      shiftWaves: defocusWavesFromImageShift({ imageShiftMm: line.focusShiftMm, workingFNumber, wavelengthNm }),
      sphericalWaves: rounded(sphericalWaves / wavelengthRatio),
    };
  });
}

/**
 * Gives every wavelength its pupil; pupils are kept.
 *
 * Input    `comaWaves` at the pupil's edge, in waves of the centre; `highestS`: highest frequency of the pupils' rows.
 */
export function pupilsOfLight({
  comaWaves,
  highestS,
}: {
  comaWaves: number;
  highestS: number;
}): (lines: readonly LightLine[]) => ExposureLight {
  const kept = new Map<string, ComaPupilOtf>();
  const directedPupil = (sphericalWaves: number, ofLineWaves: number): ComaPupilOtf => {
    const key = `${sphericalWaves}/${ofLineWaves}`;
    const pupil = kept.get(key) ?? comaPupilOtf({ sphericalWaves, comaWaves: ofLineWaves, highestS });
    kept.set(key, pupil);
    return pupil;
  };
  return (lines) => {
    if (comaWaves === 0) {
      const pupilOf = ({ sphericalWaves }: LightLine) => fastPupilOtf({ sphericalWaves, highestS });
      return { kind: 'round', lines: lines.map((line) => ({ ...line, pupil: pupilOf(line) })) };
    }
    const comaOf = ({ wavelengthRatio }: LightLine) =>
      lines.length === 1 ? comaWaves : rounded(comaWaves / wavelengthRatio);
    return {
      kind: 'directed',
      lines: lines.map((line) => ({ ...line, pupil: directedPupil(line.sphericalWaves, comaOf(line)) })),
    };
  };
}
