import { useEffect } from 'react';
import { Link, useLocation } from 'wouter';
import { stageWords } from '../../planning/index.js';
import type { FoundLayoutRecord, SearchRecord, Station } from '../../station/index.js';
import { ScrollTable } from '../parts/scroll-table.js';
import { SearchTable } from '../parts/search-table.js';
import { useSearch } from '../state/search-state.js';
import { useStation } from '../state/station-state.js';

/** Searches the parts library for layouts that meet the task of the page's station. */
export function SearchPage({ station }: { station: Station }) {
  const { parts, running, record, searchedTask, trouble, loadParts, start, cancel } = useSearch();
  const open = useStation((state) => state.open);
  const [, go] = useLocation();
  useEffect(() => void loadParts(), [loadParts]);
  const openLayout = ({ rank, yaml }: FoundLayoutRecord) => {
    open({ name: `${station.station}, layout ${rank}`, yaml });
    go('/layout');
    document.querySelector('main')?.scrollTo({ top: 0 });
  };
  const { task } = station;
  return (
    <section className="search-page">
      <h1>Search for a layout</h1>
      <p>
        <Link href="/layout">Back to the layout</Link>
      </p>
      <p>
        Every combination of sensor, fixed lens, tunable lens, its place, gap, spacer, f-number and focus-ring distance
        is held against the task: {task.nearMm} to {task.farMm} <span className="unit">mm</span>, features of{' '}
        {task.smallestFeatureMm} <span className="unit">mm</span>, a field of {task.fieldWidthMm} × {task.fieldHeightMm}{' '}
        <span className="unit">mm</span>, {task.cycleTimeMs} <span className="unit">ms</span> for all planes.
      </p>
      <div className="toolbar">
        <button type="button" className="primary" disabled={running !== null || !parts} onClick={() => start(station)}>
          Search {parts ? partCount(parts) : ''} parts
        </button>
        <button type="button" disabled={running === null} onClick={cancel}>
          Cancel
        </button>
      </div>
      {trouble && <p role="alert">{trouble}</p>}
      {running && (
        <div className="run-progress">
          <progress
            max={running.progress.pairsTotal}
            value={running.progress.pairsDone}
            aria-label="Pairs of lenses searched"
          />
          <span>
            {running.progress.pairsDone} of {running.progress.pairsTotal} pairs of lenses,{' '}
            {grouped(running.combinationCount)} combinations in all
          </span>
        </div>
      )}
      {record ? (
        <Found record={record} changed={searchedTask !== task} onOpen={openLayout} />
      ) : (
        !running && <p className="soft">Nothing searched yet. It takes some seconds and can be cancelled.</p>
      )}
    </section>
  );
}

function Found({
  record,
  changed,
  onOpen,
}: {
  record: SearchRecord;
  changed: boolean;
  onOpen: (layout: FoundLayoutRecord) => void;
}) {
  return (
    <>
      <p role="status" className="verdict-line">
        {headline(record)}
      </p>
      {changed && <p className="soft">The station has been opened anew or its task changed since this search.</p>}
      {record.layouts.length > 0 && <SearchTable layouts={record.layouts} met={record.met} onOpen={onOpen} />}
      <Rejected record={record} />
      <h2>How the combinations fared</h2>
      <p>
        {grouped(record.combinationCount)} combinations, {grouped(record.predictionCount)} predicted in full. Ruled out
        at the first requirement missed:{' '}
        {Object.entries(record.missedCounts)
          .filter(([, count]) => count > 0)
          .map(([stage, count]) => `${stageWords[stage as keyof typeof stageWords]} ${grouped(count)}`)
          .join(', ')}
        .
      </p>
      <h2>Assumed</h2>
      <ul>
        {record.assumptions.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </>
  );
}

function headline({ met, layouts, choiceCount }: SearchRecord): string {
  if (layouts.length === 0) return 'No layout meets the task, and none comes near: the reasons are listed below.';
  const shown = layouts.length < choiceCount ? ` The best ${layouts.length} are shown.` : '';
  return met
    ? `${choiceCount} choices of parts meet the task, each at its best setting.${shown}`
    : `No layout meets the task. These ${choiceCount} come nearest.${shown}`;
}

function Rejected({ record: { rejectedParts } }: { record: SearchRecord }) {
  if (rejectedParts.length === 0) return null;
  return (
    <ScrollTable label="Rejected parts" className="rejected-table">
      <caption>Parts that are in no layout that meets the task</caption>
      <thead>
        <tr>
          <th scope="col">Part</th>
          <th scope="col">Why</th>
        </tr>
      </thead>
      <tbody>
        {rejectedParts.map(({ kind, name, reason }) => (
          <tr key={`${kind} ${name}`}>
            <th scope="row">{name}</th>
            <td className="text-cell">{reason}.</td>
          </tr>
        ))}
      </tbody>
    </ScrollTable>
  );
}

const partCount = (parts: object) => Object.values(parts).flat().length;
const grouped = (count: number) => count.toLocaleString('en');
