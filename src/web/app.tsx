import { useEffect, useState } from 'react';
import { Redirect, Route, Router, Switch } from 'wouter';
import { useHashLocation } from 'wouter/use-hash-location';
import { jobSteps } from './job-steps.js';
import { ConnectPage } from './pages/connect-page.js';
import { HandoverPage } from './pages/handover-page.js';
import { LayoutPage } from './pages/layout-page.js';
import { MeasureLedger, MeasurePage } from './pages/measure-page.js';
import { AutofocusPage, CalibrationPage, ResolutionPage } from './pages/readings-pages.js';
import { RehearsePage } from './pages/rehearse-page.js';
import { SearchPage } from './pages/search-page.js';
import { TaskPage } from './pages/task-page.js';
import { Ledger } from './parts/ledger.js';
import { PathRail } from './parts/path-rail.js';
import { RehearsedNote } from './parts/rehearsed-note.js';
import { ThemeSwitch } from './parts/theme-switch.js';
import { TimeStrip } from './parts/time-strip.js';
import { VerdictMark } from './parts/verdict.js';
import { useRehearsal } from './state/rehearsal-state.js';
import { ServerError, server } from './state/server.js';
import { useStation } from './state/station-state.js';

/** The whole page: path on the left, the step in the middle, the ledger on the right, what was done at the bottom. */
export function App() {
  const { station, yaml, plan, problems, openFirst } = useStation();
  const { current: rehearsal, restore } = useRehearsal();
  const [trouble, setTrouble] = useState<ServerError | null>(null);
  useEffect(() => {
    server.opened().then(openFirst, (error: unknown) => {
      if (!(error instanceof ServerError)) throw error;
      setTrouble(error);
    });
    void restore();
  }, [openFirst, restore]);
  if (!station || !plan) {
    return (
      <main className="waiting" aria-busy={trouble === null}>
        {trouble ? (
          <p role="alert">
            {trouble.message} {trouble.remedy}
          </p>
        ) : problems.length > 0 ? (
          <TaskPage />
        ) : (
          <p>Opening the station …</p>
        )}
      </main>
    );
  }
  const record = rehearsal?.record ?? null;
  const readings = { record, ...(rehearsal?.rehearsed ?? { station, plan }) };
  return (
    <Router hook={useHashLocation}>
      <div className="page">
        <header className="head">
          <strong className="head-name">Focuswright</strong>
          <span className="head-station">
            {station.station}
            {station.invented && <span className="soft"> · invented demonstration data</span>}
          </span>
          <span className="head-verdict">
            Layout <VerdictMark verdict={plan.verdict} />
          </span>
          <ThemeSwitch />
        </header>
        <PathRail
          steps={jobSteps({ plan, problems, rehearsal, changedSince: rehearsal !== null && rehearsal.yaml !== yaml })}
        />
        <main>
          {problems.length > 0 && (
            <p role="alert">A value is not allowed: {problems[0]}. The figures show the last good state.</p>
          )}
          <Switch>
            <Route path="/task" component={TaskPage} />
            <Route path="/layout">
              <LayoutPage station={station} plan={plan} />
            </Route>
            <Route path="/layout/search">
              <SearchPage station={station} />
            </Route>
            <Route path="/rehearse">
              <RehearsePage station={station} plan={plan} />
            </Route>
            <Route path="/connect">
              <ConnectPage station={station} yaml={yaml} />
            </Route>
            <Route path="/autofocus">
              <AutofocusPage {...readings} tried={{ station, yaml }} />
            </Route>
            <Route path="/calibration">
              <CalibrationPage {...readings} />
            </Route>
            <Route path="/resolution">
              <ResolutionPage {...readings} />
            </Route>
            <Route path="/resolution/measure">
              <MeasurePage station={station} />
            </Route>
            <Route path="/handover">
              <HandoverPage rehearsal={rehearsal} />
            </Route>
            <Route>
              <Redirect to="/layout" />
            </Route>
          </Switch>
        </main>
        <Switch>
          <Route path="/task">
            <Ledger title="Predicted against the task" rows={plan.ledger} />
          </Route>
          <Route path="/layout/search" />
          <Route path="/resolution/measure">
            <MeasureLedger station={station} />
          </Route>
          <Route path="/layout">
            <Ledger title="Predicted against the task" rows={plan.ledger} />
          </Route>
          <Route>
            {record ? (
              <Ledger
                title={`Measured beside predicted${record.simulated ? ', simulated' : ''}`}
                rows={record.ledger}
                note={<RehearsedNote />}
              />
            ) : (
              <Ledger title="Predicted against the task" rows={plan.ledger} />
            )}
          </Route>
        </Switch>
        <TimeStrip />
      </div>
    </Router>
  );
}
