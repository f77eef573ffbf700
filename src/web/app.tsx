import { memo, useEffect, useMemo, useState } from 'react';
import { Router } from 'wouter';
import { useHashLocation } from 'wouter/use-hash-location';
import { jobSteps } from './job-steps.js';
import { StepLedger } from './pages/step-ledger.js';
import { StepPage } from './pages/step-page.js';
import { TaskPage } from './pages/task-page.js';
import { PathRail } from './parts/path-rail.js';
import { ThemeSwitch } from './parts/theme-switch.js';
import { TimeStrip } from './parts/time-strip.js';
import { VerdictMark } from './parts/verdict.js';
import { useRehearsal } from './state/rehearsal-state.js';
import { ServerError, server } from './state/server.js';
import { useStation } from './state/station-state.js';

/** The whole page: path on the left, the step in the middle, the ledger on the right, what was done at the bottom. */
export function App() {
  const planned = useStation(({ station, plan }) => station !== null && plan !== null);
  const openFirst = useStation((state) => state.openFirst);
  const restore = useRehearsal((state) => state.restore);
  const [trouble, setTrouble] = useState<ServerError | null>(null);
  useEffect(() => {
    server.opened().then(openFirst, (error: unknown) => {
      if (!(error instanceof ServerError)) throw error;
      setTrouble(error);
    });
    void restore();
  }, [openFirst, restore]);
  return planned ? <Page /> : <Waiting trouble={trouble} />;
}

function Waiting({ trouble }: { trouble: ServerError | null }) {
  const problems = useStation((state) => state.problems);
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

/** Each part asks the states for what it shows: a dragged value renders only what it changes. */
const Page = memo(() => (
  <Router hook={useHashLocation}>
    <div className="page">
      <Head />
      <Path />
      <main>
        <Problem />
        <StepPage />
      </main>
      <StepLedger />
      <TimeStrip />
    </div>
  </Router>
));

function Head() {
  const name = useStation(({ station }) => station!.station);
  const invented = useStation(({ station }) => station!.invented);
  const verdict = useStation(({ plan }) => plan!.verdict);
  return (
    <header className="head">
      <strong className="head-name">Focuswright</strong>
      <span className="head-station">
        {name}
        {invented && <span className="soft"> · invented demonstration data</span>}
      </span>
      <span className="head-verdict">
        Layout <VerdictMark verdict={verdict} />
      </span>
      <ThemeSwitch />
    </header>
  );
}

function Path() {
  const verdict = useStation(({ plan }) => plan!.verdict);
  const problemCount = useStation(({ problems }) => problems.length);
  const rehearsal = useRehearsal(({ current }) => current);
  const changedSince = useStation(({ yaml }) => rehearsal !== null && rehearsal.yaml !== yaml);
  const steps = useMemo(
    () => jobSteps({ verdict, problemCount, rehearsal, changedSince }),
    [verdict, problemCount, rehearsal, changedSince],
  );
  return <PathRail steps={steps} />;
}

function Problem() {
  const problem = useStation(({ problems }) => problems[0]);
  if (problem === undefined) return null;
  return <p role="alert">A value is not allowed: {problem}. The figures show the last good state.</p>;
}
