import { memo } from 'react';
import { Route, Switch } from 'wouter';
import { Ledger } from '../parts/ledger.js';
import { RehearsedNote } from '../parts/rehearsed-note.js';
import { useRehearsal } from '../state/rehearsal-state.js';
import { usePlanned } from '../state/station-state.js';
import { MeasureLedger } from './measure-page.js';

/** The ledger beside the step that is open: of the plan, of a rehearsal's record, or of what was measured on a frame. */
export const StepLedger = memo(() => (
  <Switch>
    <Route path="/layout/search" />
    <Route path="/resolution/measure" component={Measured} />
    <Route path="/task" component={Predicted} />
    <Route path="/layout" component={Predicted} />
    <Route component={Rehearsed} />
  </Switch>
));

const Predicted = () => <Ledger title="Predicted against the task" rows={usePlanned().plan.ledger} />;
const Measured = () => <MeasureLedger station={usePlanned().station} />;

function Rehearsed() {
  const record = useRehearsal(({ current }) => current?.record ?? null);
  if (record === null) return <Predicted />;
  return (
    <Ledger
      title={`Measured beside predicted${record.simulated ? ', simulated' : ''}`}
      rows={record.ledger}
      note={<RehearsedNote />}
    />
  );
}
