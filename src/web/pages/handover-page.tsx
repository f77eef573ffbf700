import { Link } from 'wouter';
import { RehearsedNote } from '../parts/rehearsed-note.js';
import { useRehearsal } from '../state/rehearsal-state.js';

/** The report of the last run, in the page; and its files. */
export function HandoverPage() {
  const rehearsal = useRehearsal(({ current }) => current);
  if (!rehearsal?.reportUrl) {
    return (
      <>
        <h1>Handover</h1>
        <p className="empty">
          No report yet. <Link href="/rehearse">Rehearse the commissioning</Link>; it ends here.
        </p>
      </>
    );
  }
  const folder = rehearsal.reportUrl.replace(/report\.html$/, '');
  return (
    <section className="handover-page">
      <h1>Handover of {rehearsal.station}</h1>
      <RehearsedNote />
      <div className="toolbar">
        <a className="button" href={rehearsal.reportUrl} target="_blank" rel="noreferrer">
          Open the report in its own window, to print
        </a>
        <a href={`${folder}results.json`} download>
          results.json
        </a>
        <a href={`${folder}plan.json`} download>
          plan.json
        </a>
        <a href={`${folder}station.yaml`} download>
          station.yaml
        </a>
        <a href={`${folder}SHA256SUMS`} download>
          SHA256SUMS
        </a>
        <Link href="/resolution/measure">Measure on its frames</Link>
      </div>
      <iframe title={`Report of ${rehearsal.station}`} src={rehearsal.reportUrl} />
    </section>
  );
}
