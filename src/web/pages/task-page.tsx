import { useCallback, useEffect, useState } from 'react';
import type { StationSummary } from '../../protocol/index.js';
import { ServerError, server } from '../state/server.js';
import { useStation } from '../state/station-state.js';

/** The task and the station's text: choose a station, change it, see what is wrong line by line, take it away. */
export function TaskPage() {
  const { name, yaml, openedYaml, problems, station, setYaml, open } = useStation();
  const [stations, setStations] = useState<StationSummary[]>([]);
  const [trouble, setTrouble] = useState<string | null>(null);
  const tell = useCallback((error: unknown) => {
    if (!(error instanceof ServerError)) throw error;
    setTrouble(`${error.message} ${error.remedy}`);
  }, []);
  useEffect(() => {
    server.stations().then(setStations, tell);
  }, [tell]);
  return (
    <section className="task-page">
      <h1>{station?.task.description ?? name}</h1>
      {trouble && <p role="alert">{trouble}</p>}
      <div className="toolbar">
        <label>
          Station{' '}
          <select
            value={stations.some((s) => s.name === name) ? name : ''}
            onChange={(event) => server.station(event.target.value).then(open, tell)}
          >
            {!stations.some((s) => s.name === name) && <option value="">{name}</option>}
            {stations.map((s) => (
              <option key={s.name} value={s.name}>
                {s.name}
                {s.invented ? ' (invented)' : ''}
              </option>
            ))}
          </select>
        </label>
        <button type="button" disabled={yaml === openedYaml} onClick={() => setYaml(openedYaml)}>
          Undo all changes
        </button>
        <a
          className="button"
          download={`${station?.station ?? 'station'}.yaml`}
          href={`data:text/yaml;charset=utf-8,${encodeURIComponent(yaml)}`}
        >
          Save the station file
        </a>
      </div>
      {yaml !== openedYaml && (
        <p className="soft">
          Changed here; kept in this tab until it is closed. Save the station file to keep it for good.
        </p>
      )}
      {problems.length > 0 ? (
        <div role="alert" className="problems">
          <strong>
            {problems.length === 1 ? 'One thing' : `${problems.length} things`} to correct; the figures show the last
            good state.
          </strong>
          <ul>
            {problems.map((problem) => (
              <li key={problem}>{problem}</li>
            ))}
          </ul>
        </div>
      ) : (
        <p className="soft">The text is a valid station. Every key carries its unit; each change is planned at once.</p>
      )}
      <label htmlFor="station-text" className="text-label">
        Station file
      </label>
      <textarea
        id="station-text"
        spellCheck={false}
        value={yaml}
        rows={36}
        onChange={(event) => setYaml(event.target.value)}
      />
    </section>
  );
}
