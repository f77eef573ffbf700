import { useMemo, useState } from 'react';
import type { RequirementKey } from '../../planning/index.js';
import type { FoundLayoutRecord } from '../../station/index.js';
import { ScrollTable } from './scroll-table.js';
import { SortHeader, type Sorting } from './sort-header.js';
import { VerdictMark } from './verdict.js';

type Column = 'rank' | 'sensor' | 'fixedLens' | 'tunableLens' | 'place' | 'fNumber' | RequirementKey;

const marginColumns: { key: RequirementKey; title: string }[] = [
  { key: 'reachNear', title: 'Near' },
  { key: 'reachFar', title: 'Far' },
  { key: 'fieldWidth', title: 'Width' },
  { key: 'fieldHeight', title: 'Height' },
  { key: 'sampling', title: 'Sampling' },
  { key: 'cornerLight', title: 'Corner' },
  { key: 'contrast', title: 'Contrast' },
  { key: 'focus', title: 'Focus' },
  { key: 'signalToNoise', title: 'SNR' },
  { key: 'cycle', title: 'Cycle' },
];

/** The layouts found, sortable by every column; each row opens as the station of the page. */
export function SearchTable({
  layouts,
  met,
  onOpen,
}: {
  layouts: readonly FoundLayoutRecord[];
  met: boolean;
  onOpen: (layout: FoundLayoutRecord) => void;
}) {
  const [sorting, setSorting] = useState<Sorting<Column>>({ by: 'rank', descending: false });
  const [frontOnly, setFrontOnly] = useState(false);
  const rows = useMemo(() => sorted(layouts, sorting, frontOnly), [layouts, sorting, frontOnly]);
  const sort = (by: Column) =>
    setSorting((now) => ({ by, descending: now.by === by ? !now.descending : by in layouts[0]!.margins }));
  const header = (column: Column, title: string) => (
    <SortHeader column={column} title={title} sorting={sorting} onSort={sort} />
  );
  return (
    <>
      {met && (
        <label className="front-only">
          <input type="checkbox" checked={frontOnly} onChange={(event) => setFrontOnly(event.target.checked)} /> Only
          layouts that no other beats at every requirement (Pareto front)
        </label>
      )}
      <ScrollTable label="Table of layouts" className="search-table">
        <caption>
          Layouts with the share of each limit that is to spare, in %: 0 is just met. The smallest is underlined.
        </caption>
        <thead>
          <tr>
            {header('rank', 'Rank')}
            <th scope="col">
              <span className="visually-hidden">Open as the station</span>
            </th>
            <th scope="col">Verdict</th>
            {header('sensor', 'Sensor')}
            {header('fixedLens', 'Fixed lens')}
            {header('tunableLens', 'Tunable lens')}
            {header('place', 'Place, gap, spacer')}
            {header('fNumber', 'f-number, ring, exposure')}
            {marginColumns.map(({ key, title }) => (
              <SortHeader key={key} column={key} title={title} sorting={sorting} onSort={sort} />
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((layout) => (
            <Row key={layout.rank} layout={layout} onOpen={onOpen} />
          ))}
        </tbody>
      </ScrollTable>
    </>
  );
}

function Row({ layout, onOpen }: { layout: FoundLayoutRecord; onOpen: (layout: FoundLayoutRecord) => void }) {
  const { rank, parts, margins, smallestRequirement, verdict, onParetoFront } = layout;
  return (
    <tr>
      <th scope="row">
        {rank}
        {onParetoFront && <abbr title="no other layout beats it at every requirement"> *</abbr>}
      </th>
      <td>
        <button type="button" aria-label={`Open layout ${rank} as the station`} onClick={() => onOpen(layout)}>
          Open
        </button>
      </td>
      <td>
        <VerdictMark verdict={verdict} />
      </td>
      <td className="text-cell">{parts.sensor}</td>
      <td className="text-cell">{parts.fixedLens}</td>
      <td className="text-cell">{parts.tunableLens}</td>
      <td className="text-cell">
        {layout.tunableLensAt}, {layout.gapMm} <span className="unit">mm</span>, {parts.spacer}
      </td>
      <td className="text-cell">
        f/{layout.fNumber}, <Ring distanceMm={layout.ringDistanceMm} />, {layout.exposureMs}{' '}
        <span className="unit">ms</span>
      </td>
      {marginColumns.map(({ key }) => (
        <td key={key} className={key === smallestRequirement ? 'smallest' : undefined}>
          {percent(margins[key]!)}
        </td>
      ))}
    </tr>
  );
}

function Ring({ distanceMm }: { distanceMm: number | null }) {
  if (distanceMm === null) return 'infinity';
  return (
    <>
      {distanceMm} <span className="unit">mm</span>
    </>
  );
}

function sorted(layouts: readonly FoundLayoutRecord[], { by, descending }: Sorting<Column>, frontOnly: boolean) {
  const shown = frontOnly ? layouts.filter(({ onParetoFront }) => onParetoFront) : [...layouts];
  const compare = (a: FoundLayoutRecord, b: FoundLayoutRecord) => {
    const [x, y] = [keyOf(a, by), keyOf(b, by)];
    if (typeof x === 'number' && typeof y === 'number') return x - y;
    return String(x).localeCompare(String(y), 'en', { numeric: true });
  };
  return shown.sort((a, b) => (descending ? -1 : 1) * compare(a, b) || a.rank - b.rank);
}

function keyOf(layout: FoundLayoutRecord, by: Column): string | number {
  switch (by) {
    case 'rank':
    case 'fNumber':
      return layout[by];
    case 'sensor':
    case 'fixedLens':
    case 'tunableLens':
      return layout.parts[by];
    case 'place':
      return layout.tunableLensAt;
    default:
      return layout.margins[by]!;
  }
}

/** "39", "−4"; a requirement missed altogether is "none". */
const percent = (margin: number) =>
  margin <= -10
    ? 'none'
    : Math.round(100 * margin)
        .toString()
        .replace('-', '−');
