import { bench, describe } from 'vitest';
import {
  aberratedOtf,
  blurDiscDepthOfField,
  contrastDepthOfField,
  defocusOtf,
  defocusOtfRadial,
  defocusOtfTable,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  quarterWaveDepthOfField,
  stepSettlingTimeMs,
  systemMtf,
  traceSystem,
} from '../src/optics/index.js';

const model: LayoutModel = {
  fixedLens: { focalLengthMm: 16, fNumber: 2.8, pupilMagnification: 1.1 },
  tunableLensAt: 'object-side',
  clearApertureMm: 16,
  gapMm: 10,
  ringDistanceMm: 400,
  spacerMm: 0.5,
  frontOffsetMm: 4,
};
const stages = { wavelengthNm: 550, pixelPitchUm: 3.45, motionBlurUm: 2, wavefrontErrorRmsWaves: 0.05 };

describe('one plane', () => {
  bench('distance → power', () => {
    focalPowerAt({ model, workingDistanceMm: 250 });
  });
  bench('traceSystem', () => {
    traceSystem({ model, focalPowerDpt: 2 });
  });
  bench('depth of field by blur disc', () => {
    blurDiscDepthOfField({ model, focalPowerDpt: 2, blurDiameterUm: 3.45 });
  });
  bench('depth of field by contrast', () => {
    contrastDepthOfField({
      ...stages,
      model,
      focalPowerDpt: 2,
      spatialFrequencyPerMm: 5,
      frequencyOn: 'object',
      contrastThreshold: 0.3,
    });
  });
  bench('whole prediction: trace, three depths of field, MTF', () => {
    const { workingFNumber } = traceSystem({ model, focalPowerDpt: 2 });
    blurDiscDepthOfField({ model, focalPowerDpt: 2, blurDiameterUm: 3.45 });
    quarterWaveDepthOfField({ model, focalPowerDpt: 2, wavelengthNm: 550 });
    contrastDepthOfField({
      ...stages,
      model,
      focalPowerDpt: 2,
      spatialFrequencyPerMm: 5,
      frequencyOn: 'object',
      contrastThreshold: 0.3,
    });
    const defocusWaves = layoutDefocusWaves({ model, focalPowerDpt: 2, workingDistanceMm: 200, wavelengthNm: 550 });
    systemMtf({ ...stages, spatialFrequencyPerMm: 60, workingFNumber, defocusWaves });
  });
  bench('settling time', () => {
    stepSettlingTimeMs({ naturalFrequencyHz: 100, dampingRatio: 0.05, fraction: 0.01, deadTimeMs: 1 });
  });
});

describe('transfer function', () => {
  for (const defocusWaves of [0.5, 5, 50]) {
    bench(`defocusOtf, ${defocusWaves} waves`, () => {
      defocusOtf({ normalisedFrequency: 0.4, defocusWaves });
    });
  }
  bench('aberratedOtf, 0.5 waves of either', () => {
    aberratedOtf({ normalisedFrequency: 0.4, defocusWaves: 0.5, sphericalWaves: 0.5 });
  });
});

describe('transfer function, many at once', () => {
  const frequencies = Float64Array.from({ length: 200 }, (_, i) => i / 200);
  const radial = defocusOtfRadial(5);
  const table = defocusOtfTable({ normalisedFrequencies: frequencies, maxDefocusWaves: 20 });
  const otf = new Float64Array(200);
  bench('200 frequencies, exact, 5 waves', () => {
    for (let i = 0; i < 200; i++) otf[i] = defocusOtf({ normalisedFrequency: frequencies[i]!, defocusWaves: 5 });
  });
  bench('200 frequencies, radial table, 5 waves', () => {
    for (let i = 0; i < 200; i++) otf[i] = radial(frequencies[i]!);
  });
  bench('200 frequencies, table over defocus', () => {
    table.readAll(5, otf);
  });
  bench('filling the radial table, 5 waves', () => {
    defocusOtfRadial(5);
  });
  bench('filling the table over defocus, 200 frequencies, 20 waves', () => {
    defocusOtfTable({ normalisedFrequencies: frequencies, maxDefocusWaves: 20 });
  });
});
