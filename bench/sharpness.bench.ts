import { readFileSync } from 'node:fs';
import { bench, describe } from 'vitest';
import { comaMtf, fieldMtf, fieldPupil, layoutSpectrum, pupilShapeOtf, systemMtf } from '../src/optics/index.js';
import { planSharpness } from '../src/planning/index.js';
import { plannedPlane } from '../src/planning/planned-plane.js';
import {
  contrastOverDistanceFigure,
  fieldLightFigure,
  fieldOverDistanceFigure,
  mtfCurvesFigure,
} from '../src/report/index.js';
import { layoutModelOf, readStation, type Station, taskPlanesOf } from '../src/station/index.js';

const yamlOf = (name: string) => readFileSync(new URL(`../stations/${name}.yaml`, import.meta.url), 'utf8');
const demo = (name: string) => readStation(yamlOf(name), { fileName: name });
const glaze = demo('glaze-line');
/** The same with everything that takes time: colour, coma, and an aperture that cuts the corner. */
const coloured: Station = {
  ...glaze,
  parts: {
    ...glaze.parts,
    fixedLens: { ...glaze.parts.fixedLens, axialColourUm: 15 },
    tunableLens: { ...glaze.parts.tunableLens, abbeNumber: 32, gravityComaRmsWaves: 0.05, clearApertureMm: 11 },
  },
};

describe('whole prediction of all planes, without figures', () => {
  for (const [name, station] of Object.entries({ 'glaze-line': glaze, 'colour, coma, cut': coloured })) {
    const model = layoutModelOf(station);
    bench(name, () => {
      for (const plane of taskPlanesOf(station)) plannedPlane({ station, model, plane, middleFNumber: 4 });
    });
  }
});

describe('sharpness over field and distance', () => {
  for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
    const station = demo(name);
    bench(name, () => {
      planSharpness(station);
    });
  }
  bench('colour, coma, cut', () => {
    planSharpness(coloured);
  });
});

describe('its four figures', () => {
  const input = { station: glaze, sharpness: planSharpness(glaze) };
  const half = { widthPx: 452, heightPx: 280 };
  bench('glaze-line', () => {
    mtfCurvesFigure(input, { widthPx: 920, heightPx: 276 });
    contrastOverDistanceFigure(input, half);
    fieldLightFigure(input, half);
    fieldOverDistanceFigure(input, half);
  });
});

describe('one frequency', () => {
  const at = { model: layoutModelOf(coloured), focalPowerDpt: 1 };
  const light = { wavelengthNm: 525, bandwidthNm: 120, abbeNumber: 32, axialColourUm: 15 };
  const spectrum = layoutSpectrum({ ...at, ...light });
  const point = { spatialFrequencyPerMm: 60, workingFNumber: 4, defocusWaves: 0, wavelengthNm: 525 };
  const pupil = fieldPupil({ ...at, imageHeightMm: 3.9 });
  bench(`systemMtf of ${spectrum.length} wavelengths`, () => {
    systemMtf({ ...point, spectrum });
  });
  bench('comaMtf', () => {
    comaMtf({ normalisedFrequency: 0.3, comaRmsWaves: 0.05 });
  });
  bench('pupilShapeOtf of a cut pupil', () => {
    pupilShapeOtf({
      normalisedFrequency: 0.3,
      discs: [
        { centreX: 0, centreY: 0, radius: 1 },
        { centreX: 0.5, centreY: 0, radius: 1.1 },
      ],
      defocusWaves: 0.2,
    });
  });
  bench('fieldMtf of a cut pupil in colour', () => {
    fieldMtf({ pupil, lines: 'tangential', ...point, spectrum });
  });
});
