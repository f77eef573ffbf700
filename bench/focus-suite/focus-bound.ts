import { focusInformationPerDpt2, type SpectrumRing } from '../../src/planning/autofocus/focus-information.js';
import type { SceneSpectrum } from './scene-spectrum.js';
import { type TrueOptics, trueTransfer } from './true-transfer.js';

/**
 * Cramér–Rao bound on best focus in given frames of a case.
 *
 * Model    focusInformationPerDpt2 with the scene's own spectrum, the true optics and the temporal noise of the mean grey
 *          value; a frame of a moving lens shows the mean of its transfer functions
 * Returns  standard deviation in dpt; Infinity where the frames tell nothing.
 */
export function focusBoundDpt({
  optics,
  spectrum,
  whiteDn,
  noiseVarianceDn2,
  framePowersDpt,
}: {
  optics: TrueOptics;
  spectrum: SceneSpectrum;
  /** Grey values of a white target above black. */
  whiteDn: number;
  noiseVarianceDn2: number;
  /** True powers during each frame. */
  framePowersDpt: readonly (readonly number[])[];
}): number {
  const step = 1e-4;
  const rings = spectrum.rings.map(({ frequencyPerPx, coefficientCount, powerRatio }): SpectrumRing => {
    const seen = (shiftDpt: number) =>
      framePowersDpt.map(
        (powers) =>
          powers.reduce((sum, p) => sum + trueTransfer(optics, { truePowerDpt: p - shiftDpt, frequencyPerPx }), 0) /
          powers.length,
      );
    const [low, high] = [seen(-step), seen(step)];
    return {
      coefficientCount,
      sceneToNoiseRatio: (powerRatio * whiteDn ** 2) / noiseVarianceDn2,
      transfer: seen(0),
      transferSlopePerDpt: high.map((value, i) => (value - low[i]!) / (2 * step)),
    };
  });
  return 1 / Math.sqrt(focusInformationPerDpt2(rings));
}
