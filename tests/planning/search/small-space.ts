import fc from 'fast-check';
import { type SearchSpace, searchSpaceOf } from '../../../src/planning/index.js';
import { type PartsFile, readParts, readSearchTask, stationToYaml } from '../../../src/station/index.js';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true }).map((v) => Number(v.toPrecision(3)));

const part = (kind: string, value: Record<string, unknown>) => ({ kind, value: { source: 'invented', ...value } });

/** Small libraries and tasks near what they can do: some layouts meet, some miss by each requirement. */
export const smallSpace: fc.Arbitrary<SearchSpace> = fc
  .record({
    nearMm: number(150, 500),
    depth: number(1.01, 1.35),
    magnification: number(0.02, 0.12),
    fieldShare: number(0.5, 1.05),
    featurePx: number(0.95, 3),
    contrast: number(0.1, 0.4),
    corner: number(0.3, 0.8),
    signal: number(3, 12),
    speed: fc.constantFrom(0, 40, 400),
    cycleTimeMs: number(120, 900),
    pitchUm: number(2.4, 6),
    focalLengthsMm: fc.tuple(number(12, 20), number(22, 40)),
    clearMm: number(8, 20),
    rangeDpt: number(3, 9),
    spreadDpt: number(0.002, 0.05),
    damping: number(0.3, 1.2),
    irradiance: number(5, 60),
    spacersMm: fc.tuple(number(0, 1), number(10, 20)),
    planes: fc.boolean(),
    bandwidthNm: fc.constantFrom(0, 0, 60),
    colourUm: fc.constantFrom(0, 40),
    gravityComa: fc.constantFrom(0, 0.03),
  })
  .map((r) => {
    const farMm = Number((r.nearMm * r.depth).toPrecision(4));
    const sensor = { widthPx: 1280, heightPx: 1024, pixelPitchUm: r.pitchUm, bitDepth: 10 };
    const pixelMm = r.pitchUm / 1000 / r.magnification;
    const task = {
      description: 'random',
      nearMm: r.nearMm,
      farMm,
      ...(r.planes && { planesMm: [r.nearMm, farMm] }),
      smallestFeatureMm: Number((r.featurePx * pixelMm).toPrecision(3)),
      contrastNeeded: r.contrast,
      cornerIlluminationNeeded: r.corner,
      signalToNoiseNeeded: r.signal,
      fieldWidthMm: Number((r.fieldShare * 1280 * pixelMm).toPrecision(3)),
      fieldHeightMm: Number((r.fieldShare * 1024 * pixelMm).toPrecision(3)),
      speedMmPerS: r.speed,
      cycleTimeMs: r.cycleTimeMs,
      temperatureMinDegC: 20,
      temperatureMaxDegC: 30,
    };
    const lens = {
      fNumberMin: 4,
      fNumberMax: 8,
      wavefrontErrorRmsWaves: 0.04,
      axialColourUm: r.colourUm,
      tolerance: { focalLengthMm: 0.05 },
    };
    const [shortMm, longMm] = r.focalLengthsMm;
    const groupMm = 2 * longMm - 6;
    const behind = { frontFocalLengthMm: groupMm, frontToStopMm: 6, stopToRearMm: 6, rearFocalLengthMm: groupMm };
    const groupsMm = 1 / (2 / groupMm - 12 / groupMm ** 2);
    const tunable = {
      clearApertureMm: r.clearMm,
      frontToPlaneMm: 5,
      controlStepDpt: 0.005,
      repeatabilityDpt: r.spreadDpt,
      hysteresisDpt: r.spreadDpt,
      temperatureCoefficientDptPerDegC: 0.003,
      naturalFrequencyHz: 120,
      dampingRatio: r.damping,
      ...(r.colourUm > 0 && { abbeNumber: 40 }),
      gravityComaRmsWaves: r.gravityComa,
      wavefrontErrorRmsWaves: 0.04,
      tolerance: { offsetDpt: 0.03, gainRelative: 0.02 },
    };
    const list = [
      part('sensor', {
        name: 'S',
        ...sensor,
        quantumEfficiency: 0.6,
        gainDnPerE: 0.09,
        fullWellE: 10_000,
        readNoiseE: 4,
        frameRateHz: 60,
        readoutMs: 10,
      }),
      part('fixedLens', {
        name: 'short',
        focalLengthMm: shortMm,
        pupilMagnification: 1.2,
        frontToPrincipalMm: 8,
        ...lens,
      }),
      part('fixedLens', {
        name: 'at the stop',
        focalLengthMm: Number(groupsMm.toPrecision(12)),
        groups: behind,
        ...lens,
      }),
      part('tunableLens', { name: 'T', powerMinDpt: -r.rangeDpt / 2, powerMaxDpt: r.rangeDpt / 2, ...tunable }),
      ...r.spacersMm.map((lengthMm, i) => part('spacer', { name: `spacer ${i}`, lengthMm })),
    ];
    const lists: Record<string, string> = {
      sensor: 'sensors',
      fixedLens: 'fixedLenses',
      tunableLens: 'tunableLenses',
      spacer: 'spacers',
    };
    const file: Record<string, unknown> = { format: 1 };
    for (const { kind, value } of list) file[lists[kind]!] = [...((file[lists[kind]!] as unknown[]) ?? []), value];
    const light = {
      name: 'L',
      source: 'invented',
      wavelengthNm: 525,
      bandwidthNm: r.bandwidthNm,
      sensorIrradianceUwPerCm2: r.irradiance,
    };
    const parts: PartsFile = { fileName: 'parts.yaml', yaml: JSON.stringify(file, null, 1) };
    return searchSpaceOf({
      task: readSearchTask(stationToYaml({ format: 1, task, light } as never), { fileName: 'task.yaml' }),
      parts: readParts([parts]),
      ringCount: 2,
    });
  });
