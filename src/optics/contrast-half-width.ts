import { requireNumber, requirePositive } from '../base/index.js';
import { bracketedRoot } from './bracketed-root.js';
import { defocusWavesFromPower } from './defocus-waves.js';
import { normalisedFrequency } from './diffraction.js';
import type { TracedSystem } from './pupils.js';
import { type BlurStages, systemOtf } from './system-mtf.js';

/** Marching steps per half period of the fastest ripple of contrast over defocus. */
const stepsPerRipple = 8;

/**
 * How far the focal power may be off the one that focuses a fixed distance, until the contrast at one frequency falls
 * below a threshold: the half-width of the depth of field in dpt.
 *
 * Model    signed system OTF over defocus, out to its first crossing; the target stays where it is, and with it the
 *          frequency on the sensor. With colour the nearer crossing of both sides counts
 * Formula  OTF(ν, W20) = threshold;  δ = 2·λ·W20 / y², y the marginal ray's height at the tunable lens
 * Returns  dpt > 0, at most `mostDpt`; null where even in focus the contrast misses the threshold.
 * Throws   RangeError naming the field, if a value is out of its range.
 * Trust    to first order in δ: breathing and the change of the pupil within the half-width are left out. Depth in mm is
 *          another question, with the target elsewhere and its image of another size: see contrastDepthOfField.
 * Source   docs/optics/depth-of-field.md
 * Checked  property: the contrast there, with the power really off, is the threshold, tests/optics/contrast-half-width.test.ts
 */
export function contrastHalfWidthDpt({
  system,
  spatialFrequencyPerMm,
  contrastThreshold,
  mostDpt,
  ...stages
}: {
  /** The layout at the power that focuses the target; see traceSystem. */
  system: Pick<TracedSystem, 'workingFNumber' | 'tunableBeamDiameterMm'>;
  /** On the sensor. */
  spatialFrequencyPerMm: number;
  contrastThreshold: number;
  mostDpt: number;
} & BlurStages): number | null {
  requirePositive('spatialFrequencyPerMm', spatialFrequencyPerMm, 'lp/mm');
  requireNumber('contrastThreshold', contrastThreshold, { above: 0, below: 1 });
  requirePositive('mostDpt', mostDpt, 'dpt');
  const { workingFNumber, tunableBeamDiameterMm } = system;
  const { wavelengthNm, spectrum } = stages;
  const point = { ...stages, spatialFrequencyPerMm, workingFNumber, defocusWaves: 0 };
  const spare = (defocusWaves: number) => {
    point.defocusWaves = defocusWaves;
    return systemOtf(point) - contrastThreshold;
  };
  const atZero = spare(0);
  if (atZero < 0) return null;
  const s = normalisedFrequency({ spatialFrequencyPerMm, wavelengthNm, workingFNumber });
  const inside = Math.min(0.98, Math.max(0.02, s));
  const stepWaves = 1 / (8 * inside * (1 - inside) * stepsPerRipple);
  const mostWaves = defocusWavesFromPower({
    pupilDiameterMm: tunableBeamDiameterMm,
    powerChangeDpt: mostDpt,
    wavelengthNm,
  });
  const waves = firstCrossing(spare, atZero, stepWaves, mostWaves);
  const nearest = spectrum ? firstCrossing((other) => spare(-other), atZero, stepWaves, waves) : waves;
  return (mostDpt * nearest) / mostWaves;
}

/** First zero of a function of defocus that is not negative at 0; `most` where there is none before. */
function firstCrossing(spare: (waves: number) => number, atZero: number, step: number, most: number): number {
  let lowValue = atZero;
  for (let inside = 0; inside < most; inside += step) {
    const next = inside + step;
    const highValue = spare(next);
    if (highValue < 0) {
      const bracket = { low: inside, high: next, lowValue, highValue };
      return Math.min(most, bracketedRoot({ of: spare, ...bracket, tolerance: 1e-7 * next }));
    }
    lowValue = highValue;
  }
  return most;
}
