import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  blurDiscDepthOfField,
  contrastDepthOfField,
  decibels,
  defocusOtf,
  focalPowerAt,
  greyValueStatistics,
  type LayoutModel,
  photonsPerPixel,
  quarterWaveDepthOfField,
  sensorFigures,
  signalToNoise,
  stepSettlingTimeMs,
  traceSystem,
  workingDistanceAt,
  zeroVibrationDerivativeShaper,
  zeroVibrationShaper,
} from '../../src/optics/index.js';

const page = (name: string) => readFileSync(new URL(`../../docs/optics/${name}.md`, import.meta.url), 'utf8');

/** The documents print a true minus sign. */
const minus = (text: string) => text.replace('-', '−');

const model: LayoutModel = {
  fixedLens: { focalLengthMm: 25, fNumber: 4, pupilMagnification: 1.2 },
  tunableLensAt: 'object-side',
  clearApertureMm: 16,
  gapMm: 12,
  ringDistanceMm: 500,
  spacerMm: 0,
  frontOffsetMm: 8,
};

describe('worked examples in docs/optics', () => {
  it('closed form: power-distance', () => {
    const text = page('power-distance');
    for (const focalPowerDpt of [0, 1, 2, 3]) {
      const focus = workingDistanceAt({ model, focalPowerDpt });
      if (focus.kind !== 'real') throw new Error(focus.kind);
      expect(text).toContain(
        `| ${focalPowerDpt} dpt | ${focus.workingDistanceMm.toFixed(2)} mm | ${minus(focus.magnification.toFixed(4))} |`,
      );
    }
    const power = (workingDistanceMm: number | null) => {
      const found = focalPowerAt({ model, workingDistanceMm });
      return found.kind === 'power' ? minus(found.focalPowerDpt.toFixed(3)) : found.reason;
    };
    expect(text).toContain(`250 mm asks for ${power(250)} dpt, infinity for ${power(null)} dpt.`);
  });

  it('closed form: pupils', () => {
    const traced = traceSystem({ model, focalPowerDpt: 2 });
    const text = page('pupils').replaceAll('\n', ' ');
    expect(traced.limitingStop).toBe('fixed-lens');
    expect(text).toContain(
      `working f-number ${traced.workingFNumber.toFixed(3)}, object-side NA ${traced.objectNumericalAperture.toFixed(5)}, ` +
        `beam at the tunable lens ${traced.tunableBeamDiameterMm.toFixed(3)} mm, ` +
        `entrance pupil ${traced.entrancePupil.diameterMm.toFixed(3)} mm wide and ${traced.entrancePupil.positionMm.toFixed(2)} mm behind`,
    );
  });

  it('closed form: depth-of-field', () => {
    const text = page('depth-of-field');
    const at = { model, focalPowerDpt: 2 };
    const byContrast = contrastDepthOfField({
      ...at,
      wavelengthNm: 550,
      pixelPitchUm: 3.45,
      spatialFrequencyPerMm: 8,
      frequencyOn: 'object',
      contrastThreshold: 0.3,
    });
    if (byContrast.kind !== 'depth') throw new Error(byContrast.reason);
    for (const depth of [
      blurDiscDepthOfField({ ...at, blurDiameterUm: 3.45 }),
      quarterWaveDepthOfField({ ...at, wavelengthNm: 550 }),
      byContrast,
    ]) {
      expect(text).toContain(
        `| ${depth.nearMm.toFixed(2)} mm | ${depth.farMm!.toFixed(2)} mm | ` +
          `${depth.nearHalfWidthDpt.toFixed(4)}, ${depth.farHalfWidthDpt.toFixed(4)} dpt |`,
      );
    }
  });

  it('closed form: defocus-otf', () => {
    const text = page('defocus-otf');
    for (const waves of [0, 0.25, 0.5, 1]) {
      const row = [0.1, 0.25, 0.5].map((s) =>
        minus(defocusOtf({ normalisedFrequency: s, defocusWaves: waves }).toFixed(5)),
      );
      expect(text).toContain(`| ${waves} | ${row.join(' | ')} |`);
    }
  });

  it('closed form: sensor-noise', () => {
    const text = page('sensor-noise').replaceAll('\n', ' ');
    const sensor = {
      quantumEfficiency: 0.65,
      systemGainDnPerE: 0.35,
      darkNoiseE: 2.5,
      darkCurrentEPerS: 0,
      saturationCapacityE: 10500,
      darkOffsetDn: 0,
      darkNonUniformityE: 0,
      responseNonUniformity: 0,
    };
    const photons = photonsPerPixel({ irradianceUwPerCm2: 1, exposureMs: 1, wavelengthNm: 525, pixelPitchUm: 3.45 });
    const grey = greyValueStatistics({ sensor, photons, exposureMs: 1 });
    const ratio = signalToNoise({ sensor, photons, exposureMs: 1 }).temporal;
    const figures = sensorFigures({ sensor });
    expect(text).toContain(
      `${photons.toFixed(2)} photons, ${grey.signalE.toFixed(2)} electrons, ${grey.meanDn.toFixed(3)} DN above dark, ` +
        `SNR ${ratio.toFixed(3)} (${decibels(ratio).toFixed(2)} dB), threshold ${figures.thresholdPhotons.toFixed(3)} photons, ` +
        `dynamic range ${decibels(figures.dynamicRange).toFixed(2)} dB`,
    );
  });

  it('closed form: second-order-response', () => {
    const text = page('second-order-response').replaceAll('\n', ' ');
    const system = { naturalFrequencyHz: 100, dampingRatio: 0.05 };
    for (const percent of [10, 2, 1, 0.1]) {
      const settledMs = stepSettlingTimeMs({ ...system, fraction: percent / 100, deadTimeMs: 1 })!;
      expect(text).toContain(`| ${percent} % | ${settledMs.toFixed(1)} ms |`);
    }
    const [first, second] = zeroVibrationShaper(system);
    expect(text).toContain(
      `[${first!.share.toFixed(3)}, ${second!.share.toFixed(3)}] at 0 and ${second!.atMs.toFixed(3)} ms settles to any tolerance in ${(1 + second!.atMs).toFixed(3)} ms`,
    );
    expect(text).toContain(`in ${(1 + zeroVibrationDerivativeShaper(system)[2]!.atMs).toFixed(3)} ms`);
  });
});
