import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import {
  comaMtf,
  fieldMtf,
  fieldPupil,
  type LayoutModel,
  layoutSpectrum,
  systemMtf,
  traceSystem,
  wavefrontErrorMtf,
} from '../../src/optics/index.js';

const text = readFileSync(new URL('../../docs/optics/colour-and-coma.md', import.meta.url), 'utf8').replaceAll(
  '\n',
  ' ',
);
const model: LayoutModel = {
  fixedLens: { focalLengthMm: 25, fNumber: 4, pupilMagnification: 1.2 },
  tunableLensAt: 'object-side',
  clearApertureMm: 16,
  gapMm: 12,
  ringDistanceMm: 500,
  spacerMm: 0,
  frontOffsetMm: 8,
};

it('closed form: the worked example of colour, coma and the corner', () => {
  const at = { model, focalPowerDpt: 2 };
  const light = { wavelengthNm: 525, bandwidthNm: 120, abbeNumber: 32, axialColourUm: 20 };
  const spectrum = layoutSpectrum({ ...at, ...light });
  const [first, last] = [spectrum[0]!, spectrum.at(-1)!];
  expect(spectrum).toHaveLength(7);
  const um = (mm: number) => Math.abs(1000 * mm).toFixed(1);
  expect(text).toContain(
    `Seven wavelengths from ${first.wavelengthNm.toFixed(0)} to ${last.wavelengthNm.toFixed(0)} nm focus between −${um(first.focusShiftMm)} and +${um(last.focusShiftMm)} µm`,
  );
  const { workingFNumber } = traceSystem(at);
  const point = { spatialFrequencyPerMm: 80, defocusWaves: 0, wavelengthNm: 525 };
  const axis = { ...point, workingFNumber };
  expect(text).toContain(`MTF is ${systemMtf(axis).toFixed(3)} in light of 525 nm alone`);
  expect(text).toContain(`${systemMtf({ ...axis, spectrum }).toFixed(3)} with the colours`);
  expect(text).toContain(
    `${systemMtf({ ...axis, spectrum, comaRmsWaves: 0.05 }).toFixed(3)} with 0.05 waves rms of coma`,
  );
  const pupil = fieldPupil({ ...at, imageHeightMm: 5.5 });
  expect(text).toContain(`slope is ${pupil.chiefSlope.toFixed(3)}`);
  const [across, along] = (['tangential', 'sagittal'] as const).map((lines) => fieldMtf({ pupil, lines, ...point }));
  expect(text).toContain(`${across!.toFixed(3)} for tangential and ${along!.toFixed(3)} for sagittal lines`);
  const lossPercent = (factor: number) => Math.round(100 * (1 - factor));
  const shannon = wavefrontErrorMtf({ normalisedFrequency: 0.25, wavefrontErrorRmsWaves: 0.05 });
  const coma = comaMtf({ normalisedFrequency: 0.25, comaRmsWaves: 0.05 });
  expect(text).toContain(`cost ${lossPercent(shannon)} % there and ${lossPercent(coma)} % here`);
});
