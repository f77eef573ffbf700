import { Link, useLocation } from 'wouter';

/** Every page, in the order of the job. */
const pages: readonly { path: string; title: string }[] = [
  { path: '/task', title: 'Task' },
  { path: '/layout', title: 'Layout' },
  { path: '/layout/search', title: 'Layout search' },
  { path: '/rehearse', title: 'Rehearse' },
  { path: '/connect', title: 'Connect' },
  { path: '/autofocus', title: 'Autofocus' },
  { path: '/calibration', title: 'Distance calibration' },
  { path: '/resolution', title: 'Resolution check' },
  { path: '/resolution/measure', title: 'Measure a frame' },
  { path: '/handover', title: 'Handover' },
];

/** What an address without a page is answered with. */
export function NoSuchPage() {
  const [here] = useLocation();
  return (
    <section className="no-such-page" aria-label="No such page">
      <h1>There is no page at this address</h1>
      <p>
        The address asks for <code>#{here}</code>. Nothing of the station has changed. These pages are there:
      </p>
      <ul>
        {pages.map(({ path, title }) => (
          <li key={path}>
            <Link href={path}>{title}</Link>
          </li>
        ))}
      </ul>
    </section>
  );
}
