import { useCallback } from 'react';
import { Link } from 'wouter';
import {
  allowedHalfWidthDpt,
  calibrationResidualsFigure,
  edgeResponseFigure,
  type FigureSize,
  powerDistanceFigure,
  throughFocusFigure,
  throughFocusInput,
} from '../../report/index.js';
import {
  type AutofocusRecord,
  type CalibrationRecord,
  type CommissionRecord,
  type PlanRecord,
  predictedFocalPowerDpt,
  type ResolutionReading,
  type Station,
} from '../../station/index.js';
import { FigureView } from '../parts/figure-view.js';
import { RehearsedNote } from '../parts/rehearsed-note.js';
import { AutofocusSection } from './autofocus-section.js';

/** What was read in a run, and the station and plan that it was read of. */
interface Readings {
  station: Station;
  plan: PlanRecord;
  record: CommissionRecord | null;
}

function NothingYet({ what }: { what: string }) {
  return (
    <p className="empty">
      No {what} yet. <Link href="/rehearse">Rehearse the commissioning</Link> to see it on the simulated station.
    </p>
  );
}

/** Through-focus curves of the last run, and a search to try. */
export function AutofocusPage({ tried, ...readings }: Readings & { tried: { station: Station; yaml: string } }) {
  return (
    <>
      <h1>Autofocus</h1>
      <AutofocusSection key={tried.station.station} {...tried} />
      <h2 className="step-part">In the rehearsal</h2>
      <RehearsedFocus {...readings} />
    </>
  );
}

function RehearsedFocus({ station, plan, record }: Readings) {
  if (!record) return <NothingYet what="autofocus result" />;
  return (
    <>
      <RehearsedNote />
      <div className="figure-row">
        {record.autofocus.map((result) => (
          <ThroughFocus
            key={result.workingDistanceMm}
            result={result}
            station={station}
            plan={plan}
            simulated={record.simulated}
          />
        ))}
      </div>
    </>
  );
}

function ThroughFocus({
  result,
  station,
  plan,
  simulated,
}: Omit<Readings, 'record'> & { result: AutofocusRecord; simulated: boolean }) {
  const draw = useCallback(
    (size: FigureSize) => {
      const { workingDistanceMm } = result;
      const predicted = predictedFocalPowerDpt({ station, workingDistanceMm });
      return throughFocusFigure(
        throughFocusInput(result, {
          predictedBestDpt: predicted,
          allowedHalfWidthDpt: allowedHalfWidthDpt(plan, workingDistanceMm),
        }),
        size,
      );
    },
    [result, station, plan],
  );
  return <FigureView draw={draw} aspect={0.6} simulated={simulated} />;
}

/** Focal power ↔ working distance as learned, beside the prediction. */
export function CalibrationPage({ station, plan, record }: Readings) {
  const calibration = record?.calibration ?? null;
  const drawCurve = useCallback(
    (size: FigureSize) => powerDistanceFigure({ station, plan, calibration }, size),
    [station, plan, calibration],
  );
  if (!record || !calibration)
    return (
      <>
        <h1>Distance calibration</h1>
        <NothingYet what="distance calibration" />
      </>
    );
  return (
    <>
      <h1>Distance calibration</h1>
      <RehearsedNote />
      <p>{calibration.kind === 'fitted' ? calibration.explanation : `${calibration.message} ${calibration.remedy}`}</p>
      <FigureView draw={drawCurve} aspect={0.5} main simulated={record.simulated} />
      <Residuals station={station} plan={plan} calibration={calibration} simulated={record.simulated} />
    </>
  );
}

function Residuals({
  station,
  plan,
  calibration,
  simulated,
}: Omit<Readings, 'record'> & { calibration: CalibrationRecord; simulated: boolean }) {
  const draw = useCallback(
    (size: FigureSize) =>
      calibrationResidualsFigure(
        {
          calibration,
          task: station.task,
          allowedHalfWidthDpt: allowedHalfWidthDpt(plan, (station.task.nearMm + station.task.farMm) / 2),
        },
        size,
      ),
    [station, plan, calibration],
  );
  return <FigureView draw={draw} aspect={0.4} simulated={simulated} />;
}

/** Edge response near, middle and far beside the prediction. */
export function ResolutionPage({ station, record }: Readings) {
  if (!record?.resolution.length)
    return (
      <>
        <h1>Resolution check</h1>
        <MeasureLink />
        <NothingYet what="resolution check" />
      </>
    );
  return (
    <>
      <h1>Resolution check</h1>
      <MeasureLink />
      <RehearsedNote />
      <div className="figure-row">
        {record.resolution.map((reading) => (
          <EdgeResponse
            key={reading.name}
            reading={reading}
            contrastNeeded={station.task.contrastNeeded}
            simulated={record.simulated}
          />
        ))}
      </div>
    </>
  );
}

function MeasureLink() {
  return (
    <p>
      <Link href="/resolution/measure">Measure a frame</Link>: of the camera, a stored one, or a file; edges, bars,
      star, grid, focus, noise.
    </p>
  );
}

function EdgeResponse({
  reading,
  contrastNeeded,
  simulated,
}: {
  reading: ResolutionReading;
  contrastNeeded: number;
  simulated: boolean;
}) {
  const draw = useCallback(
    (size: FigureSize) => edgeResponseFigure({ reading, contrastNeeded }, size),
    [reading, contrastNeeded],
  );
  return <FigureView draw={draw} aspect={0.72} simulated={simulated} />;
}
