import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { decodeImage, ringBlurTable, ringSpectrometer, sceneLikelihood } from '../../src/image/index.js';
import { believe } from '../../src/procedures/autofocus/model/focus-belief.js';
import { estimateFocus } from '../../src/procedures/autofocus/model/focus-estimate.js';
import { completeOptics, halfWidthBlurRadiusPx } from '../../src/procedures/autofocus/model/focus-optics.js';

const folder = new URL('../../references/defocus/', import.meta.url);
const truth: {
  cutoffPerPx: number;
  blurRadiusPerDptPx: number;
  powersDpt: number[];
  scenes: { name: string; bestFocusDpt: number; files: string[] }[];
} = JSON.parse(readFileSync(new URL('truth.json', folder), 'utf8'));
const { rings, measure } = ringSpectrometer({ widthPx: 128, heightPx: 128 });
const { cutoffPerPx, blurRadiusPerDptPx, powersDpt } = truth;
const table = ringBlurTable({ rings, cutoffPerPx, maxBlurRadiusPx: 60 });
const likelihood = sceneLikelihood(rings);
const halfWidthPx = halfWidthBlurRadiusPx(cutoffPerPx);

describe('belief from photographs defocused by numpy', () => {
  it.each(truth.scenes)('reference: three frames of $name tell best focus within half the half-width', (scene) => {
    const spectra = scene.files.map((file) => {
      const image = decodeImage(readFileSync(new URL(file, folder)));
      return measure(image, { xPx: 0, yPx: 0 });
    });
    const noiseDn2 = Math.min(...spectra.map(({ powersDn2 }) => powersDn2.at(-1)!));
    const optics = completeOptics({
      cutoffPerPx,
      blurRadiusPerDptPx: 1.03 * blurRadiusPerDptPx,
      blurRadiusLogStd: 0.03,
    });
    const { belief } = believe({
      frames: spectra.map((spectrum, k) => ({
        ...spectrum,
        noiseDn2,
        focalPowersDpt: [powersDpt[k]!],
        play: null,
        scaleRatio: 1,
      })),
      optics,
      limits: { powerMinDpt: -2, powerMaxDpt: 3 },
      likelihood,
      table,
      sidePx: 128,
    });
    const { focalPowerDpt } = estimateFocus(belief, { halfWidthPx, systematicPx: 0.12, optics });
    const halfWidthDpt = halfWidthPx / blurRadiusPerDptPx;
    expect(Math.abs(focalPowerDpt - scene.bestFocusDpt)).toBeLessThan(halfWidthDpt / 2);
  });
});
