import { z } from 'zod';
import {
  bandwidthNm,
  comaRmsWaves,
  driftDptPerDegC,
  durationMs,
  electronsE,
  focusShiftUm,
  fraction,
  gainDnPerE,
  greyDn,
  group,
  irradianceUwPerCm2,
  lengthMm,
  measuredGreyDn,
  pixels,
  positiveMm,
  positiveUm,
  powerDpt,
  rateHz,
  ratio,
  spreadDpt,
  temperatureDegC,
  wavefrontRmsWaves,
  wavelengthNm,
} from './quantities.js';

/** What every part says of itself. */
const identity = {
  name: z.string().min(1).meta({ description: 'generic or own name of the part' }),
  source: z
    .string()
    .min(1)
    .meta({ description: 'where the values come from: datasheet and its date, measurement, or "invented"' }),
};

/** Image sensor: geometry and the EMVA 1288 linear model. */
export const sensor = group('image sensor: geometry and the EMVA 1288 linear model', {
  ...identity,
  widthPx: pixels('active columns', 30_000),
  heightPx: pixels('active rows', 30_000),
  pixelPitchUm: positiveUm('pixel pitch', 50),
  bitDepth: z.literal([8, 10, 12]).meta({ unit: 'bit', description: 'bits of a grey value' }),
  quantumEfficiency: fraction('quantum efficiency at the light’s wavelength').gt(0),
  gainDnPerE: gainDnPerE('overall system gain K at the given bit depth'),
  fullWellE: electronsE('saturation capacity').gt(0),
  readNoiseE: electronsE('temporal dark noise'),
  blackLevelDn: greyDn('mean grey value in the dark').default(2),
  nonUniformity: fraction('photo response non-uniformity, 1σ').default(0),
  frameRateHz: rateHz('highest full-frame rate'),
  readoutMs: durationMs('time from end of exposure to frame in hand'),
});

/** Group of a fixed lens that is split by its stop. */
const groups = group('the two groups of the lens on either side of its stop, as thin lenses', {
  frontFocalLengthMm: z
    .number()
    .min(-10_000)
    .max(10_000)
    .meta({ unit: 'mm', description: 'focal length of the group before the stop' }),
  frontToStopMm: lengthMm('front group to stop', 0, 2000),
  stopToRearMm: lengthMm('stop to rear group', 0, 2000),
  rearFocalLengthMm: z
    .number()
    .min(-10_000)
    .max(10_000)
    .meta({ unit: 'mm', description: 'focal length of the group behind the stop' }),
});

/** Lens of fixed focal length with a focus ring. */
export const fixedLens = group('lens of fixed focal length with a focus ring', {
  ...identity,
  focalLengthMm: positiveMm('focal length', 10_000),
  fNumberMin: ratio('f-number of the widest setting', 0.5, 64),
  fNumberMax: ratio('f-number of the narrowest setting', 0.5, 64),
  pupilMagnification: ratio(
    'exit pupil / entrance pupil diameter; without it 1 is assumed and flagged',
    0.1,
    10,
  ).optional(),
  frontToPrincipalMm: z.number().min(-500).max(500).optional().meta({
    unit: 'mm',
    description: 'mechanical front to front principal plane; without it half the focal length is assumed and flagged',
  }),
  wavefrontErrorRmsWaves: wavefrontRmsWaves('rms wavefront error').default(0),
  axialColourUm: focusShiftUm(
    'axial colour: how much farther from the lens red (656 nm) focuses than blue (486 nm), at infinity',
  ).default(0),
  groups: groups.optional(),
  tolerance: group('spread over built stations, 1σ', {
    focalLengthMm: lengthMm('focal length, 1σ', 0, 100).default(0),
    ringDistanceRelative: fraction('focus-ring setting relative to its distance, 1σ').default(0.01),
    frontToPrincipalMm: lengthMm('mechanical front to front principal plane, 1σ', 0, 100).default(0.1),
    fNumberRelative: fraction('f-number relative to its setting, 1σ').default(0.03),
    wavefrontErrorRelative: fraction('rms wavefront error relative to its value, 1σ').default(0.2),
  }).prefault({}),
});

/** Lens whose focal power is set electronically. */
export const tunableLens = group('lens whose focal power is set electronically', {
  ...identity,
  clearApertureMm: positiveMm('clear aperture diameter', 500),
  powerMinDpt: powerDpt('lowest focal power'),
  powerMaxDpt: powerDpt('highest focal power'),
  frontToPlaneMm: lengthMm('mechanical front to the plane of the lens', 0, 500),
  controlStepDpt: spreadDpt('smallest commanded step'),
  repeatabilityDpt: spreadDpt('repeatability, 1σ'),
  hysteresisDpt: spreadDpt('full width between rising and falling approach').default(0),
  temperatureCoefficientDptPerDegC: driftDptPerDegC('change of power with temperature at a constant command').default(
    0,
  ),
  referenceTemperatureDegC: temperatureDegC('temperature at which the command is exact').default(25),
  temperatureMaxDegC: temperatureDegC('highest allowed lens temperature').default(70),
  naturalFrequencyHz: rateHz('natural frequency of the step response', 20_000),
  dampingRatio: ratio('damping ratio of the step response', 0.01, 3),
  deadTimeMs: durationMs('delay before the lens begins to move', 1000).default(0),
  wavefrontErrorRmsWaves: wavefrontRmsWaves('rms wavefront error').default(0),
  abbeNumber: ratio(
    'Abbe number: dispersion of its focal power; without it none is assumed and flagged',
    10,
    150,
  ).optional(),
  gravityComaRmsWaves: comaRmsWaves('rms coma by gravity with the optical axis horizontal').default(0),
  tolerance: group('spread over built stations, 1σ', {
    offsetDpt: spreadDpt('power at zero command, 1σ').default(0),
    gainRelative: fraction('slope of power against command, 1σ').default(0),
    frontToPlaneMm: lengthMm('mechanical front to the plane of the lens, 1σ', 0, 100).default(0.1),
    temperatureCoefficientRelative: fraction('temperature coefficient relative to its value, 1σ').default(0.15),
    wavefrontErrorRelative: fraction('rms wavefront error relative to its value, 1σ').default(0.2),
  }).prefault({}),
});

/** Illumination, as it reaches the sensor. */
export const light = group('illumination, as it reaches the sensor', {
  ...identity,
  wavelengthNm: wavelengthNm('centre wavelength'),
  bandwidthNm: bandwidthNm('full width at half maximum of the spectrum').default(0),
  sensorIrradianceUwPerCm2: irradianceUwPerCm2(
    'irradiance on the sensor from a white target in the middle of the range, at the f-number atFNumber; or give measured',
  ).optional(),
  measured: group('one measured frame, in place of sensorIrradianceUwPerCm2', {
    meanGreyDn: measuredGreyDn('mean grey value of the target in the middle of the field'),
    exposureMs: durationMs('exposure time of that frame', 10_000).gt(0),
    reflectance: fraction('light from the target relative to a white one').gt(0).default(1),
  }).optional(),
  atFNumber: ratio(
    'f-number of the fixed lens at which irradiance or frame was taken; without it the layout’s',
    0.5,
    64,
  ).optional(),
  riskGroup: z
    .enum(['exempt', 'risk-group-1', 'risk-group-2', 'risk-group-3', 'unknown'])
    .default('unknown')
    .meta({ description: 'risk group of the lamp by IEC 62471, from its datasheet' }),
  tolerance: group('spread over built stations, 1σ', {
    irradianceRelative: fraction('irradiance relative to its value, 1σ').default(0.1),
  }).prefault({}),
});

/** Extension between fixed lens and sensor. */
export const spacer = group('extension between fixed lens and sensor', {
  ...identity,
  lengthMm: lengthMm('length', 0, 1000),
  tolerance: group('spread over built stations, 1σ', {
    lengthMm: lengthMm('length, 1σ', 0, 10).default(0.02),
  }).prefault({}),
});
