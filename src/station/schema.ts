import { z } from 'zod';
import { crossCheckIssues } from './cross-checks.js';
import { featureMap } from './feature-map.js';
import { layoutProblem } from './layout-of-station.js';
import { fixedLens, light, sensor, spacer, tunableLens } from './part-schemas.js';
import {
  angleDeg,
  blurPx,
  currentMa,
  durationMs,
  fraction,
  group,
  lengthMm,
  positiveMm,
  powerDpt,
  ratio,
  slewDptPerS,
  speedMmPerS,
  temperatureDegC,
  temperatureStepDegC,
} from './quantities.js';

/** What must be seen, so that it can be checked. */
export const task = group('what must be seen, so that it can be checked', {
  description: z.string().min(1).meta({ description: 'the task in words' }),
  nearMm: positiveMm('nearest working distance, from the mechanical front of the foremost part'),
  farMm: positiveMm('farthest working distance'),
  planesMm: z
    .array(positiveMm('working distance of a plane'))
    .min(1)
    .max(64)
    .optional()
    .meta({ description: 'the planes to be seen one after the other; without them near, middle and far are planned' }),
  smallestFeatureMm: positiveMm(
    'width of the smallest feature on the object; the task frequency is 1 / (2 × width)',
    1000,
  ),
  contrastNeeded: fraction('least MTF of the whole system at the task frequency').gt(0).lt(1).default(0.2),
  cornerIlluminationNeeded: fraction('least light in the sensor’s corner relative to its centre').default(0.5),
  signalToNoiseNeeded: ratio(
    'least signal-to-noise ratio of a pattern with the task’s contrast in one pixel',
    0.1,
    1000,
  ).default(5),
  fieldWidthMm: positiveMm('width that must be seen at every distance', 100_000),
  fieldHeightMm: positiveMm('height that must be seen at every distance', 100_000),
  blurDiscMaxPx: blurPx('largest blur disc that still counts as sharp').default(1),
  speedMmPerS: speedMmPerS('speed of the object across the field during the exposure').default(0),
  cycleTimeMs: durationMs('longest time for all planes of one part').gt(0),
  temperatureMinDegC: temperatureDegC('coldest temperature of the lens in use'),
  temperatureMaxDegC: temperatureDegC('warmest temperature of the lens in use'),
  texture: group('brightness variation of what is focused on: the prior of the predicted autofocus', {
    rmsContrast: fraction('standard deviation of the grey value in focus over its mean').gt(0).default(0.1),
    spectrumExponent: ratio('α of a power spectrum that falls as 1 / frequency^α', 0, 4).default(2),
  }).prefault({}),
});

/** Parts put together. */
export const layout = group('parts put together', {
  tunableLensAt: z.enum(['object-side', 'at-stop', 'image-side']).meta({
    description: 'where the tunable lens sits: before the fixed lens, at its stop, or between it and the sensor',
  }),
  gapMm: lengthMm(
    'tunable lens to the nearer principal plane of the fixed lens; 0 with the tunable lens at the stop',
    0,
    2000,
  ),
  fNumber: ratio('f-number the fixed lens is set to', 0.5, 64),
  ringDistanceMm: positiveMm(
    'object distance the focus ring is set to, from the front principal plane of the fixed lens',
    1_000_000,
  )
    .nullable()
    .meta({ description: 'null: infinity' }),
  opticalAxisFromVerticalDeg: angleDeg(
    'angle of the optical axis from the vertical: 0 looks straight down (180 up), 90 horizontally; without it 90 is assumed for the coma by gravity',
  ).optional(),
  tolerance: group('spread over built stations, 1σ', {
    gapMm: lengthMm('gap, 1σ', 0, 10).default(0.1),
  }).prefault({}),
});

/** How camera and lens are driven. */
export const controls = group('how camera and lens are driven', {
  exposureMs: durationMs('exposure time', 10_000).gt(0),
  powerMinDpt: powerDpt('lowest focal power the station may command; default: the lens’s own limit').optional(),
  powerMaxDpt: powerDpt('highest focal power the station may command; default: the lens’s own limit').optional(),
  parkPowerDpt: powerDpt('focal power the lens is left at on exit, error or cancel').default(0),
  approachFrom: z
    .enum(['below', 'above'])
    .default('below')
    .meta({ description: 'direction from which a power is approached, so that hysteresis is the same each time' }),
  compensateTemperature: z
    .boolean()
    .default(false)
    .meta({ description: 'true: the commanded power is corrected by the lens’s temperature reading' }),
  slewLimitDptPerS: slewDptPerS('fastest change of the commanded power; without it a command is one step').optional(),
  currentMinMa: currentMa('lowest lens current the station may command; default: the lens’s own limit').optional(),
  currentMaxMa: currentMa('highest lens current the station may command; default: the lens’s own limit').optional(),
  featureMap: featureMap.optional(),
});

/** The rehearsal on the simulated station: hidden build errors are drawn from the tolerances of the parts by this seed. */
export const rehearsal = group(
  'the run on the simulated station: hidden build errors are drawn from the tolerances by the seed',
  {
    seed: z.int().min(0).max(4294967295).default(1).meta({ description: 'names the drawn build errors and noise' }),
    scene: z
      .enum(['glazed-ware', 'stopper', 'pin-field'])
      .default('glazed-ware')
      .meta({ description: 'what the simulated camera sees' }),
    ambientDegC: temperatureDegC('temperature at the start').default(23),
    warmUpDegC: temperatureStepDegC('rise of the lens temperature while it works', 60).default(4),
  },
);

/** Distances for the calibration and the check. */
export const commissioning = group('distances for the calibration and the check, and how well they are known', {
  targetDistancesMm: z
    .array(positiveMm('working distance of the target'))
    .min(5)
    .max(50)
    .optional()
    .meta({ description: 'default: seven distances, evenly spaced in vergence over the task’s range' }),
  temperatureStdDegC: temperatureStepDegC('standard uncertainty of the temperature reading', 20).default(0.5),
  distanceStdMm: lengthMm('standard uncertainty of a target distance', 0, 100).default(0.3),
});

/** The whole station file. Unknown keys are errors. */
export const stationSchema = z
  .strictObject({
    station: z
      .string()
      .regex(/^[a-z0-9][a-z0-9-]{0,62}$/)
      .meta({ description: 'name of the station' }),
    format: z.literal(1).meta({ description: 'version of this file format' }),
    invented: z.boolean().meta({ description: 'true: demonstration data, not a real installation' }).default(false),
    task,
    parts: group('the parts with their datasheet values and tolerances', {
      sensor,
      fixedLens,
      tunableLens,
      light,
      spacer,
    }),
    layout,
    controls,
    commissioning: commissioning.prefault({}),
    rehearsal: rehearsal.prefault({}),
  })
  .check(({ value, issues }) => {
    const relations = crossCheckIssues(value);
    for (const { path, input, message } of relations) issues.push({ code: 'custom', path, input, message });
    if (relations.length > 0) return;
    const unbuildable = layoutProblem(value);
    if (unbuildable) issues.push({ code: 'custom', path: ['layout'], input: value.layout, message: unbuildable });
  });

/** A station, checked, with defaults filled in. */
export type Station = z.output<typeof stationSchema>;
/** What the engineer writes: defaults may be left out. */
export type StationInput = z.input<typeof stationSchema>;
