import fc from 'fast-check';
import type { Estimate } from '../../src/base/index.js';
import type {
  AutofocusRecord,
  CalibrationRecord,
  CommissionRecord,
  ResolutionReading,
} from '../../src/station/index.js';
import { sampleCommission } from './sample-record.js';

/** Records as a run may leave them, ordinary and extreme: huge and tiny numbers, odd texts, missing and refused parts. */

const number = fc.oneof(
  fc.double({ min: -5, max: 5, noNaN: true }),
  fc.double({ min: -1e12, max: 1e12, noNaN: true }),
  fc.constantFrom(0, 1e-12, -1e-300, 1e9),
);
const positive = fc.oneof(
  fc.double({ min: 1, max: 2000, noNaN: true }),
  fc.double({ min: 1e-3, max: 1e7, noNaN: true }),
);
const std = fc.oneof(fc.double({ min: 1e-6, max: 1, noNaN: true }), fc.constantFrom(0, 1e-15, 1e12));
const text = fc.oneof(
  fc.string({ unit: 'grapheme', maxLength: 30 }),
  fc.constantFrom('<b>&"\'</b>', '', ']]>', '</script>', '\u0000\u0008'),
);
const estimate: fc.Arbitrary<Estimate> = fc.record({ value: number, std: fc.option(std) });
const region = fc.constant({ xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 });

const sweep = fc.record({
  workingDistanceMm: positive,
  measure: text,
  region,
  points: fc.array(
    fc.record({
      focalPowerDpt: number,
      measure: number,
      measureStd: fc.option(std),
      meanGreyDn: positive,
      temperatureDegC: fc.option(number),
      frame: text,
    }),
    { maxLength: 6 },
  ),
});

const shared = { workingDistanceMm: positive, frames: fc.nat(), elapsedMs: positive, sweep };
const autofocus: fc.Arbitrary<AutofocusRecord> = fc.oneof(
  fc.record({
    kind: fc.constant('found' as const),
    focalPowerDpt: number,
    focalPowerStdDpt: std,
    temperatureDegC: fc.option(number),
    ...shared,
  }),
  fc.record({ kind: fc.constant('refused' as const), reason: text, message: text, remedy: text, ...shared }),
);

const points = fc.array(
  fc.record({
    workingDistanceMm: positive,
    measuredDpt: estimate,
    predictedDpt: number,
    fittedDpt: number,
    residualDpt: number,
    temperatureDegC: fc.option(number),
  }),
  { maxLength: 5 },
);
const calibration: fc.Arbitrary<CalibrationRecord> = fc.oneof(
  fc.record({
    kind: fc.constant('fitted' as const),
    points,
    parameters: fc.array(fc.record({ name: text, unit: text, title: text, prior: estimate, fitted: estimate }), {
      maxLength: 3,
    }),
    residualRmsDpt: std,
    reducedChiSquare: std,
    curve: fc.array(fc.record({ workingDistanceMm: positive, focalPowerDpt: number, predicted95Dpt: std }), {
      maxLength: 5,
    }),
    referenceTemperatureDegC: number,
    explanation: text,
  }),
  fc.record({ kind: fc.constant('refused' as const), reason: text, message: text, remedy: text, points }),
);

const resolution: fc.Arbitrary<ResolutionReading> = fc.record({
  name: fc.constantFrom('near' as const, 'middle' as const, 'far' as const),
  workingDistanceMm: positive,
  focalPowerDpt: number,
  frame: text,
  result: fc.oneof(
    fc.record({
      kind: fc.constant('measured' as const),
      orientation: fc.constantFrom('near-vertical' as const, 'near-horizontal' as const),
      edgeAngleDeg: number,
      region,
      mtf: fc.array(fc.record({ frequencyPerPx: positive, value: number, std }), { maxLength: 5 }),
      predictedMtf: fc.array(fc.record({ frequencyPerPx: positive, value: number }), { maxLength: 5 }),
      edgeSpread: fc.array(fc.record({ positionPx: number, value: number }), { maxLength: 5 }),
      mtf50PerPx: fc.option(estimate),
      predictedMtf50PerPx: fc.option(number),
      mtfAtTask: estimate,
      predictedMtfAtTask: number,
      taskFrequencyPerPx: positive,
    }),
    fc.record({ kind: fc.constant('refused' as const), reason: text, remedy: text }),
  ),
});

const limit = fc.option(number);
const ledgerRow = fc.record({
  key: text,
  title: text,
  unit: fc.constantFrom('mm', 'dpt', ''),
  required: fc.option(fc.record({ min: limit, max: limit })),
  predicted: fc.option(estimate),
  measured: fc.option(estimate),
  verdict: fc.constantFrom('meets' as const, 'marginal' as const, 'fails' as const, 'unknown' as const),
  reason: text,
  remedy: fc.option(text),
  basis: text,
});

export const anyCommission: fc.Arbitrary<CommissionRecord> = fc
  .record({
    station: text,
    invented: fc.boolean(),
    state: fc.constantFrom('complete' as const, 'cancelled' as const, 'failed' as const),
    stateReason: fc.option(text),
    simulated: fc.boolean(),
    ledger: fc.array(ledgerRow, { maxLength: 5 }),
    autofocus: fc.array(autofocus, { maxLength: 3 }),
    calibration: fc.option(calibration),
    resolution: fc.array(resolution, { maxLength: 3 }),
    cautions: fc.array(text, { maxLength: 2 }),
  })
  .map((part) => ({ ...sampleCommission, ...part, frames: part.autofocus.length > 0 ? sampleCommission.frames : [] }));
