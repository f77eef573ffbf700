import fc from 'fast-check';
import { type Station, type StationInput, stationSchema } from '../../src/station/index.js';

const number = (min: number, max: number) =>
  fc.double({ min, max, noNaN: true }).map((value) => Number(value.toFixed(6)) || 0);
/** Evenly spread over orders of magnitude. */
const scale = (min: number, max: number) =>
  number(Math.log(min), Math.log(max)).map((log) => Number(Math.exp(log).toPrecision(6)));

/** Stations that the schema allows, sensible or not: every planner must answer them. */
export const randomStation: fc.Arbitrary<Station> = fc
  .record({
    near: scale(20, 5000),
    depth: scale(1.01, 10),
    featurePx: scale(0.2, 30),
    contrast: number(0.02, 0.9),
    focal: scale(4, 200),
    widest: number(1, 4),
    closing: scale(1, 8),
    pupil: fc.option(number(0.4, 2.5), { nil: undefined }),
    front: fc.option(number(-20, 60), { nil: undefined }),
    powers: fc.tuple(number(-20, 10), scale(0.5, 20)),
    clear: scale(2, 60),
    gap: number(0, 60),
    at: fc.constantFrom('object-side' as const, 'image-side' as const),
    ring: fc.option(scale(1.05, 500), { nil: null }),
    spacer: number(0, 80),
    pitch: scale(1, 20),
    wavelength: number(350, 1100),
    irradiance: scale(1e-4, 1e4),
    exposure: scale(0.001, 1000),
    speed: fc.constantFrom(0, 1, 100, 5000),
    damping: scale(0.02, 3),
    frequency: scale(1, 1000),
    temperature: number(-20, 80),
    planes: fc.option(fc.array(number(0, 1), { minLength: 1, maxLength: 6 }), { nil: undefined }),
    spread: scale(1e-4, 1),
    compensate: fc.boolean(),
  })
  .map((r): StationInput => {
    const far = r.near * r.depth;
    const fNumber = r.widest * r.closing;
    return {
      station: 'random',
      format: 1,
      task: {
        description: 'random',
        nearMm: r.near,
        farMm: far,
        ...(r.planes && { planesMm: r.planes.map((share) => r.near + share * (far - r.near)) }),
        smallestFeatureMm: Math.min(1000, (r.featurePx * r.pitch * 1e-3 * r.near) / r.focal),
        contrastNeeded: r.contrast,
        fieldWidthMm: 50,
        fieldHeightMm: 40,
        speedMmPerS: r.speed,
        cycleTimeMs: 200,
        temperatureMinDegC: r.temperature,
        temperatureMaxDegC: r.temperature + 10,
      },
      parts: {
        sensor: {
          name: 'sensor',
          source: 'invented',
          widthPx: 1280,
          heightPx: 1024,
          pixelPitchUm: r.pitch,
          bitDepth: 10,
          quantumEfficiency: 0.6,
          gainDnPerE: 0.1,
          fullWellE: 9000,
          readNoiseE: 4,
          frameRateHz: 60,
          readoutMs: 10,
        },
        fixedLens: {
          name: 'lens',
          source: 'invented',
          focalLengthMm: r.focal,
          fNumberMin: r.widest,
          fNumberMax: 64,
          pupilMagnification: r.pupil,
          frontToPrincipalMm: r.front,
          tolerance: { focalLengthMm: 0.1 },
        },
        tunableLens: {
          name: 'tunable',
          source: 'invented',
          clearApertureMm: r.clear,
          powerMinDpt: r.powers[0],
          powerMaxDpt: r.powers[0] + r.powers[1],
          frontToPlaneMm: 5,
          controlStepDpt: r.spread / 4,
          repeatabilityDpt: r.spread,
          hysteresisDpt: r.spread,
          temperatureCoefficientDptPerDegC: 0.005,
          naturalFrequencyHz: r.frequency,
          dampingRatio: r.damping,
          tolerance: { offsetDpt: r.spread, gainRelative: 0.02 },
        },
        light: {
          name: 'light',
          source: 'invented',
          wavelengthNm: r.wavelength,
          sensorIrradianceUwPerCm2: r.irradiance,
        },
        spacer: { name: 'spacer', source: 'invented', lengthMm: r.spacer },
      },
      layout: {
        tunableLensAt: r.at,
        gapMm: r.gap,
        fNumber,
        ringDistanceMm: r.ring === null ? null : Math.min(1e6, r.ring * r.focal),
      },
      controls: {
        exposureMs: r.exposure,
        parkPowerDpt: r.powers[0] + r.powers[1] / 2,
        compensateTemperature: r.compensate,
      },
    };
  })
  .map((input) => stationSchema.safeParse(input))
  .filter((result) => result.success)
  .map((result) => result.data!);
