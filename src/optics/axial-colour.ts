import { mmFromNm, mmFromUm, mmPerM, requireFinite, requirePositive } from '../base/index.js';
import { defocusWavesFromImageShift } from './defocus-waves.js';
import { layoutMatrices } from './layout-matrices.js';
import { type LayoutModel, sensorDistanceMm } from './layout-model.js';
import { gaussianSpectrum, type SpectralLine } from './spectrum.js';

/** A wavelength with its own focus. */
export interface ColourLine extends SpectralLine {
  /** From the focus of the centre wavelength to this one's, along the light: positive = behind it. */
  focusShiftMm: number;
}

/** Fraunhofer lines by which an Abbe number is defined: F and C of hydrogen, d of helium (from memory). */
const blueNm = 486.133;
const redNm = 656.273;
const yellowNm = 587.562;

/** A colour farther out of focus than this counts as this far: it adds no contrast either way. */
const mostWaves = 50;
const leastLines = 5;
const mostLines = 21;
/** Between neighbouring lines the defocus changes by at most this, in waves. */
const wavesPerLine = 0.3;

const heldWithin = (value: number, most: number): number => Math.max(-most, Math.min(most, value));

/** Two-term Cauchy dispersion: rises by 1 from red to blue, 0 at the reference wavelength. */
function dispersion(wavelengthNm: number, referenceNm: number): number {
  return (wavelengthNm ** -2 - referenceNm ** -2) / (blueNm ** -2 - redNm ** -2);
}

/**
 * Power of a thin lens at a wavelength, relative to that at another.
 *
 * Model    index by two terms of Cauchy, n = A + B/λ²; power ∝ n − 1
 * Formula  g(λ) = 1 + (λ⁻² − λd⁻²) / ((λF⁻² − λC⁻²)·V);  power(λ) / power(λ0) = g(λ) / g(λ0)
 * Returns  > 1 for shorter wavelengths; 1 at the reference.
 * Throws   RangeError naming the field, if it is not > 0.
 * Trust    follows glass to a few per cent of its dispersion from 450 to 700 nm; in ultraviolet and infrared a guess.
 * Source   definition of the Abbe number V = (nd − 1)/(nF − nC) (from memory)
 * Checked  closed form: from C to F the power changes by 1/V of that at d
 */
export function relativePower({
  abbeNumber,
  wavelengthNm,
  referenceNm,
}: {
  abbeNumber: number;
  wavelengthNm: number;
  referenceNm: number;
}): number {
  requirePositive('abbeNumber', abbeNumber);
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('referenceNm', referenceNm, 'nm');
  const g = (nm: number) => 1 + dispersion(nm, yellowNm) / abbeNumber;
  return g(wavelengthNm) / g(referenceNm);
}

/**
 * The light's spectrum as a few wavelengths, each with its own focus behind a layout.
 *
 * Model    the tunable lens scales its power by relativePower; the fixed lens shifts its focus by `axialColourUm` from
 *          blue (486 nm) to red (656 nm) when focused at infinity, in proportion to λ⁻²
 * Formula  Δz = −b²·ΔP of the tunable lens, b of the matrix from it to the sensor;  Δz = −shift·(v/f)²·dispersion of
 *          the fixed lens, v from it to the sensor
 * Input    `focalPowerDpt` holds at the centre wavelength; `abbeNumber` null: no dispersion of the tunable lens.
 * Returns  at least five wavelengths, more where the focuses lie far apart; the centre alone for a width of 0. No focus
 *          lies farther off than 50 waves of defocus.
 * Throws   RangeError naming the field of a layout that cannot be built, or a value that is out of its range.
 * Trust    first order, on the axis; colour of magnification is left out. The fixed lens's secondary spectrum is bent
 *          more than λ⁻², and a tunable lens behind it is not counted in its share.
 * Source   docs/optics/colour-and-coma.md
 * Checked  reference: focus of each wavelength found by workingDistanceAt, tests/optics/axial-colour.test.ts
 */
export function layoutSpectrum({
  model,
  focalPowerDpt,
  wavelengthNm,
  bandwidthNm,
  abbeNumber,
  axialColourUm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  wavelengthNm: number;
  bandwidthNm: number;
  abbeNumber: number | null;
  axialColourUm: number;
}): ColourLine[] {
  requireFinite('axialColourUm', axialColourUm, 'µm');
  const { tunableLensStop, fixedLensStop } = layoutMatrices({ model, focalPowerDpt });
  const perPowerMm = tunableLensStop.toSensor.b ** 2 / mmPerM;
  const fixedMm = mmFromUm(axialColourUm) * (sensorDistanceMm(model) / model.fixedLens.focalLengthMm) ** 2;
  const shiftMm = (nm: number) => {
    const powerRatio =
      abbeNumber === null ? 1 : relativePower({ abbeNumber, wavelengthNm: nm, referenceNm: wavelengthNm });
    return -perPowerMm * focalPowerDpt * (powerRatio - 1) - fixedMm * dispersion(nm, wavelengthNm);
  };
  const ends = gaussianSpectrum({ wavelengthNm, bandwidthNm, count: 3 });
  const workingFNumber = Math.max(
    ...[tunableLensStop, fixedLensStop].map(({ toSensor, radiusMm }) => Math.abs(toSensor.b) / (2 * radiusMm)),
  );
  const [low, high] = [ends[0]!, ends.at(-1)!].map((line) =>
    defocusWavesFromImageShift({ imageShiftMm: shiftMm(line.wavelengthNm), workingFNumber, wavelengthNm }),
  );
  const mostShiftMm = mostWaves * 8 * mmFromNm(wavelengthNm) * workingFNumber ** 2;
  const steps = Math.ceil(Math.abs(high! - low!) / wavesPerLine);
  const count = Math.min(mostLines, Math.max(leastLines, 2 * Math.ceil(steps / 2) + 1));
  return gaussianSpectrum({ wavelengthNm, bandwidthNm, count }).map((line) => ({
    ...line,
    focusShiftMm: heldWithin(shiftMm(line.wavelengthNm), mostShiftMm),
  }));
}
