import { useRehearsal } from '../state/rehearsal-state.js';
import { clockOfRun } from '../state/run-clock.js';
import { useStation } from '../state/station-state.js';

/** Says whose readings these are, once the station in the page is no longer the one that was rehearsed. */
export function RehearsedNote() {
  const rehearsal = useRehearsal((state) => state.current);
  const yaml = useStation((state) => state.yaml);
  if (!rehearsal || rehearsal.yaml === yaml) return null;
  return (
    <p className="rehearsed-note">
      <b>Earlier station</b> These readings belong to {rehearsal.station} as rehearsed at{' '}
      <time>{clockOfRun(rehearsal.runId)}</time>; the station in the page has been changed since.
    </p>
  );
}
