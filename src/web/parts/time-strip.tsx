import { useLocation } from 'wouter';
import { useRehearsal } from '../state/rehearsal-state.js';
import { clockOfRun } from '../state/run-clock.js';

/** What this server has run, in order; each point opens what was known then. */
export function TimeStrip() {
  const { past, current, show } = useRehearsal();
  const [, go] = useLocation();
  return (
    <section className="strip" aria-label="What was done">
      {past.length === 0 && <span className="soft">Nothing done yet. A rehearsal leaves its mark here.</span>}
      {past.map((rehearsal) => (
        <button
          key={rehearsal.runId}
          type="button"
          aria-pressed={rehearsal.runId === current?.runId}
          onClick={() => {
            show(rehearsal.runId);
            go(rehearsal.reportUrl ? '/handover' : '/rehearse');
          }}
        >
          <time>{clockOfRun(rehearsal.runId)}</time> {rehearsal.station} rehearsed:{' '}
          {rehearsal.record?.verdict ?? rehearsal.state}
        </button>
      ))}
    </section>
  );
}
