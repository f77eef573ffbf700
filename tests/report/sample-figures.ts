import { planSharpness, toleranceRun } from '../../src/planning/index.js';
import {
  budgetBarsFigure,
  calibrationResidualsFigure,
  contrastOverDistanceFigure,
  edgeResponseFigure,
  type Figure,
  type FigureSize,
  fieldLightFigure,
  fieldOverDistanceFigure,
  mtfCurvesFigure,
  type PartsInput,
  partsFigure,
  powerDistanceFigure,
  rayDrawingFigure,
  throughFocusFigure,
  throughFocusInput,
  toleranceBarsFigure,
} from '../../src/report/index.js';
import type { CommissionRecord, FocusedPart, PlanRecord, Station, ToleranceRecord } from '../../src/station/index.js';

/** A few built stations: what a figure needs, in little time. */
function builtSome(station: Station): ToleranceRecord {
  const run = toleranceRun({ station, stationCount: 12, seed: 1 });
  run.advance(12);
  return run.record({ stationSha256: '', softwareVersion: '' });
}

/** The distances of a run as if they were parts, with and without an expectation. */
function partsOf({ autofocus }: CommissionRecord): PartsInput {
  const seen = {
    method: 'model' as const,
    elapsedMs: 40,
    region: { xPx: 0, yPx: 0, widthPx: 64, heightPx: 64 },
    probes: [],
    posterior: null,
  };
  const parts = autofocus.map((record, i): FocusedPart => {
    const { workingDistanceMm, frames } = record;
    const result: FocusedPart['result'] =
      record.kind === 'refused'
        ? { ...seen, ...record, frames, reason: 'no-texture' }
        : {
            ...seen,
            ...record,
            approachedFrom: 'below',
            halfWidthDpt: null,
            probabilityInFocus: null,
            confirmation: null,
          };
    const expected =
      record.kind === 'found' && i > 0
        ? { focalPowerDpt: record.focalPowerDpt, focalPowerStdDpt: 0.1, from: 'distance' as const }
        : null;
    return { kind: 'part', number: i + 1, arrivedAtMs: 0, workingDistanceMm, expected, offExpectedDpt: null, result };
  });
  return { parts, summary: null };
}

/** Every figure that a station, its plan and a run give, by name. */
export function everyFigure(
  { station, plan, commission }: { station: Station; plan: PlanRecord; commission: CommissionRecord },
  size: FigureSize,
): [name: string, figure: Figure][] {
  const { calibration, autofocus, resolution } = commission;
  const sharpness = planSharpness(station);
  const expected = { predictedBestDpt: 0.5, allowedHalfWidthDpt: 0.09 };
  return [
    ['ray drawing', rayDrawingFigure({ station, plan }, size)],
    ['power and distance, planned', powerDistanceFigure({ station, plan }, size)],
    ['power and distance, calibrated', powerDistanceFigure({ station, plan, calibration }, size)],
    ['MTF curves', mtfCurvesFigure({ station, sharpness }, size)],
    ['contrast over distance', contrastOverDistanceFigure({ station, sharpness }, size)],
    ['light over the field', fieldLightFigure({ station, sharpness }, size)],
    ['field over distance', fieldOverDistanceFigure({ station, sharpness }, size)],
    ['budget bars', budgetBarsFigure({ budget: plan.budget }, size)],
    ['tolerance bars', toleranceBarsFigure({ tolerance: builtSome(station) }, size)],
    ['parts in turn', partsFigure(partsOf(commission), size)],
    ...autofocus.map((record, i): [string, Figure] => [
      `through focus ${i}`,
      throughFocusFigure(throughFocusInput(record, expected), size),
    ]),
    ...resolution.map((reading): [string, Figure] => [
      `edge response ${reading.name}`,
      edgeResponseFigure({ reading, contrastNeeded: station.task.contrastNeeded }, size),
    ]),
    ...(calibration
      ? [
          [
            'calibration residuals',
            calibrationResidualsFigure({ calibration, task: station.task, allowedHalfWidthDpt: 0.09 }, size),
          ] as [string, Figure],
        ]
      : []),
  ];
}
