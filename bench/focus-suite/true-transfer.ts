import { perMmFromPerPx } from '../../src/base/index.js';
import { aberratedOtf, defocusOtf, type LayoutModel, normalisedFrequency } from '../../src/optics/index.js';
import type { LightColour } from '../../src/twin/index.js';
import { opticalStateAt } from '../../src/twin/true-optics.js';

/** The optics of a case as they really are. */
export interface TrueOptics {
  model: LayoutModel;
  workingDistanceMm: number;
  pixelPitchUm: number;
  wavelengthNm: number;
  sphericalWaves: number;
  colours: readonly LightColour[];
}

/** Defocus beyond this leaves nothing of the frequencies that matter, and spherical aberration no longer shows. */
const farWaves = 30;

/**
 * Signed transfer function of a case's optics, without the pixel, at a true focal power.
 *
 * Model    as src/twin draws it: colours by weight, each with its own focus; spherical aberration balanced in focus
 */
export function trueTransfer(
  { model, workingDistanceMm, pixelPitchUm, wavelengthNm, sphericalWaves, colours }: TrueOptics,
  { truePowerDpt, frequencyPerPx }: { truePowerDpt: number; frequencyPerPx: number },
): number {
  const spatialFrequencyPerMm = perMmFromPerPx({ frequencyPerPx, pixelPitchUm });
  let sum = 0;
  for (const colour of colours) {
    const { defocusWaves, workingFNumber } = opticalStateAt({
      model,
      focalPowerDpt: truePowerDpt - colour.focusShiftDpt,
      workingDistanceMm,
      wavelengthNm,
    });
    const s = normalisedFrequency({ spatialFrequencyPerMm, wavelengthNm: colour.wavelengthNm, workingFNumber });
    const waves = (defocusWaves * wavelengthNm) / colour.wavelengthNm - sphericalWaves;
    sum +=
      colour.weight *
      (Math.abs(waves) > farWaves
        ? defocusOtf({ normalisedFrequency: s, defocusWaves: waves })
        : aberratedOtf({ normalisedFrequency: s, defocusWaves: waves, sphericalWaves }));
  }
  return sum;
}

/** Where the suite looks at contrast, in cycles per pixel, and the share of it that bounds the depth of field. */
const judgedPerPx = 0.25;
const keptShare = 0.8;

/**
 * True best focus and the half-width of the depth of field.
 *
 * Model    best focus: highest contrast at 0.25 cycles a pixel; half-width: mean over both sides of the change of power at
 *          which that contrast has fallen to 80 %
 */
export function trueFocus(
  optics: TrueOptics,
  { nearDpt, stepDpt }: { nearDpt: number; stepDpt: number },
): { bestPowerDpt: number; halfWidthDpt: number } {
  const contrast = (truePowerDpt: number) => trueTransfer(optics, { truePowerDpt, frequencyPerPx: judgedPerPx });
  const grid = Array.from({ length: 41 }, (_, i) => nearDpt + (i - 20) * (stepDpt / 4));
  const top = grid.reduce((a, b) => (contrast(b) > contrast(a) ? b : a));
  const bestPowerDpt = highest(contrast, top - stepDpt / 4, top + stepDpt / 4);
  const level = keptShare * contrast(bestPowerDpt);
  const side = (sign: number) => {
    let outDpt = stepDpt / 8;
    while (contrast(bestPowerDpt + sign * outDpt) > level) outDpt += stepDpt / 8;
    let low = outDpt - stepDpt / 8;
    let high = outDpt;
    for (let i = 0; i < 30; i++) {
      const middle = (low + high) / 2;
      if (contrast(bestPowerDpt + sign * middle) > level) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  return { bestPowerDpt, halfWidthDpt: (side(1) + side(-1)) / 2 };
}

function highest(f: (x: number) => number, from: number, to: number): number {
  let [low, high] = [from, to];
  for (let i = 0; i < 60; i++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    if (f(a) < f(b)) low = a;
    else high = b;
  }
  return (low + high) / 2;
}
