import { useCallback, useEffect, useRef, useState } from 'react';
import { useLocation } from 'wouter';
import { allowedHalfWidthDpt, type FigureSize, formatFixed, throughFocusFigure } from '../../report/index.js';
import type { PlanRecord, Station } from '../../station/index.js';
import { CautionBand } from '../parts/caution-band.js';
import { FigureView } from '../parts/figure-view.js';
import { RehearsedNote } from '../parts/rehearsed-note.js';
import { type Rehearsal, useRehearsal } from '../state/rehearsal-state.js';
import { useStation } from '../state/station-state.js';

/** Rehearse the commissioning on the simulated station: start, watch, cancel; it ends on the report. */
export function RehearsePage({ station, plan }: { station: Station; plan: PlanRecord }) {
  const yaml = useStation((state) => state.yaml);
  const problems = useStation((state) => state.problems);
  const { current, trouble, start, cancel } = useRehearsal();
  const [seedText, setSeedText] = useState(String(station.rehearsal.seed));
  const seed = seedOf(seedText);
  const running = current?.state === 'running';
  useReportWhenDone(current);
  return (
    <>
      <h1>Rehearse the commissioning</h1>
      <p>
        The simulated station has build errors that you cannot see: ring, spacer and lens are off by what their
        tolerances allow. The same procedures run as on the real camera; afterwards every measured number stands beside
        the predicted one.
      </p>
      <CornerNote plan={plan} />
      <CautionBand cautions={plan.cautions} />
      <div className="toolbar">
        <label>
          Seed of the hidden errors{' '}
          <input
            className="seed-field"
            inputMode="numeric"
            value={seedText}
            disabled={running}
            aria-invalid={seed === null}
            aria-describedby={seed === null ? 'seed-problem' : undefined}
            onChange={(event) => setSeedText(event.target.value)}
          />
        </label>
        <button
          type="button"
          className="primary"
          disabled={running || problems.length > 0 || seed === null}
          onClick={() => seed !== null && void start({ yaml, seed })}
        >
          Start the rehearsal
        </button>
        <button type="button" disabled={!running} onClick={() => void cancel()}>
          Cancel and park the lens
        </button>
      </div>
      {seed === null && (
        <p role="alert" id="seed-problem">
          The seed is {seedText === '' ? 'empty' : `“${seedText}”`}; it must be a whole number from 0 to {seedMax}, in
          digits. The same seed gives the same hidden errors.
        </p>
      )}
      {problems.length > 0 && <p role="alert">The station file has things to correct; see step 1.</p>}
      {trouble && (
        <p role="alert">
          {trouble.message} {trouble.remedy}
        </p>
      )}
      {current ? (
        <Live rehearsal={current} />
      ) : (
        <p className="soft">No rehearsal yet. Start one; it takes a minute or so.</p>
      )}
    </>
  );
}

/** Contrast that a corner loses before it is worth a word that the simulated station does not show it. */
const cornerLossShown = 0.02;

/** Says what of the plan a rehearsal cannot show, where the plan has it. */
function CornerNote({ plan: { planes } }: { plan: PlanRecord }) {
  const lossOf = ({ mtfAtTask, cornerMtfAtTask }: PlanRecord['planes'][number]) => mtfAtTask - cornerMtfAtTask;
  const worst = planes.reduce<PlanRecord['planes'][number] | null>(
    (a, b) => (a === null || lossOf(b) > lossOf(a) ? b : a),
    null,
  );
  if (worst === null || lossOf(worst) < cornerLossShown) return null;
  return (
    <p className="soft">
      The simulated station blurs its whole field as the centre. The plan’s lower contrast in the corner (
      {formatFixed(worst.cornerMtfAtTask, 2)} against {formatFixed(worst.mtfAtTask, 2)} at {worst.name}) will not show;
      its loss of light will.
    </p>
  );
}

const seedMax = 4294967295;

/** The seed that a text says, or null: nothing is rounded or cut. */
function seedOf(text: string): number | null {
  return /^\d+$/.test(text) && Number(text) <= seedMax ? Number(text) : null;
}

/** Goes to the report when a rehearsal that ran while this page was open is complete. */
function useReportWhenDone(current: Rehearsal | null): void {
  const [, go] = useLocation();
  const watched = useRef<string | null>(null);
  useEffect(() => {
    if (current?.state === 'running') watched.current = current.runId;
    if (current?.state === 'complete' && current.reportUrl && watched.current === current.runId) {
      watched.current = null;
      go('/handover');
    }
  }, [current, go]);
}

function Live({ rehearsal }: { rehearsal: Rehearsal }) {
  const { points, focus, rehearsed } = rehearsal;
  const { station, plan } = rehearsed;
  const last = points.at(-1);
  const outcome = last && focus.find((f) => f.workingDistanceMm === last.workingDistanceMm);
  const draw = useCallback(
    (size: FigureSize) =>
      throughFocusFigure(
        {
          workingDistanceMm: last?.workingDistanceMm ?? station.task.nearMm,
          measureName: last?.measureName ?? '',
          points,
          predictedBestDpt: last?.predictedBestDpt ?? null,
          allowedHalfWidthDpt: last ? allowedHalfWidthDpt(plan, last.workingDistanceMm) : null,
          result:
            outcome?.type === 'focus-found'
              ? { kind: 'found', ...outcome }
              : outcome
                ? { kind: 'refused', message: outcome.reason }
                : null,
          range: { minDpt: plan.reach.powerMinDpt, maxDpt: plan.reach.powerMaxDpt },
        },
        size,
      ),
    [points, outcome, last, plan, station],
  );
  return (
    <>
      <RehearsedNote />
      <div className="run-progress" role="status">
        <progress value={rehearsal.doneShare} max={1} aria-label="Progress of the rehearsal" />
        <span>
          {rehearsal.state === 'running' ? rehearsal.step : rehearsal.state} {rehearsal.message}
        </span>
      </div>
      <FigureView draw={draw} aspect={0.46} main simulated />
      {focus.length > 0 && (
        <table>
          <caption>Best focus found</caption>
          <thead>
            <tr>
              <th scope="col">
                Distance <span className="unit">mm</span>
              </th>
              <th scope="col">
                Predicted <span className="unit">dpt</span>
              </th>
              <th scope="col">
                Measured <span className="unit">dpt</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {focus.map((f) => (
              <tr key={`${f.workingDistanceMm}`}>
                <th scope="row">{f.workingDistanceMm.toFixed(1)}</th>
                <td>{f.type === 'focus-found' ? f.predictedDpt.toFixed(3) : '–'}</td>
                <td>
                  {f.type === 'focus-found'
                    ? `${f.focalPowerDpt.toFixed(3)} ± ${f.focalPowerStdDpt.toFixed(3)}`
                    : `refused: ${f.reason}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {rehearsal.readings.map((reading) => (
        <p key={reading}>{reading}</p>
      ))}
    </>
  );
}
