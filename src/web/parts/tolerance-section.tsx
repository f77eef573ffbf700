import { useCallback, useEffect, useMemo, useState } from 'react';
import { type ToleranceRun, toleranceRun } from '../../planning/index.js';
import { type FigureSize, formatNumber, sharePercent, toleranceBarsFigure, unitsKept } from '../../report/index.js';
import type { Station, ToleranceRecord, ToleranceRequirement } from '../../station/index.js';
import { FigureView } from './figure-view.js';
import { ScrollTable } from './scroll-table.js';

const stationCount = 10_000;
const seed = 1;
/** Stations built at once: the page answers between. */
const stationsAtOnce = 60;
/** A dragged value rests this long before stations are built from it. */
const restMs = 500;

/** What share of built stations meets the task: built while the page stays free, anew whenever the station changes. */
export function ToleranceSection({ station }: { station: Station }) {
  const { record, doneCount } = useBuiltStations(station);
  const draw = useCallback((size: FigureSize) => toleranceBarsFigure({ tolerance: record! }, size), [record]);
  return (
    <section aria-label="Tolerances">
      <h2 className="step-part">Built within tolerances</h2>
      {doneCount < stationCount && (
        <div className="run-progress" role="status">
          <progress max={stationCount} value={doneCount} aria-label="Stations built" />
          <span>
            {doneCount} of {stationCount} stations built
          </span>
        </div>
      )}
      {record && (
        <>
          <FigureView draw={draw} aspect={0.3} />
          <p className="soft">
            Solid: as built, each power commanded as the layout asks. Hollow: after a distance calibration. Lines: 95 %
            confidence. Seed {record.seed}; the command line gives the same numbers.
          </p>
          <ToleranceTable requirements={record.requirements} />
          <details>
            <summary>Assumed</summary>
            <ul>
              {record.assumptions.map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
          </details>
        </>
      )}
    </section>
  );
}

/** Builds the stations piece by piece; the last record stays until the next is whole. */
function useBuiltStations(station: Station): { record: ToleranceRecord | null; doneCount: number } {
  const [record, setRecord] = useState<ToleranceRecord | null>(null);
  const [doneCount, setDoneCount] = useState(0);
  // The same values in a new object, as when an unrelated text changes, need no new run.
  const values = useMemo(() => JSON.stringify(station), [station]);
  useEffect(() => {
    let run: ToleranceRun | null = null;
    let timer = window.setTimeout(step, restMs);
    setDoneCount(0);
    function step() {
      run ??= toleranceRun({ station: JSON.parse(values) as Station, stationCount, seed });
      run.advance(stationsAtOnce);
      setDoneCount(run.doneCount);
      if (run.doneCount >= stationCount) setRecord(run.record({ stationSha256: '', softwareVersion: '' }));
      else timer = window.setTimeout(step, 0);
    }
    return () => window.clearTimeout(timer);
  }, [values]);
  return { record, doneCount };
}

function ToleranceTable({ requirements }: { requirements: readonly ToleranceRequirement[] }) {
  return (
    <ScrollTable label="Table of tolerances">
      <caption>Share of built stations that meets each requirement, least first</caption>
      <thead>
        <tr>
          <th scope="col">Requirement</th>
          <th scope="col">As written</th>
          <th scope="col">5 … 95 % of stations</th>
          <th scope="col">Share now</th>
          <th scope="col">After calibration</th>
          <th scope="col" className="words">
            First contributors
          </th>
        </tr>
      </thead>
      <tbody>
        {[...requirements]
          .sort((a, b) => a.now.share - b.now.share)
          .map((requirement) => (
            <ToleranceTableRow key={requirement.key} requirement={requirement} />
          ))}
      </tbody>
    </ScrollTable>
  );
}

function ToleranceTableRow({ requirement }: { requirement: ToleranceRequirement }) {
  const { title, unit, nominalValue, now, afterCalibration, contributors } = requirement;
  const { fifthPercentileValue: low, ninetyFifthPercentileValue: high } = now;
  return (
    <tr>
      <th scope="row">{unitsKept(title)}</th>
      <td>
        {nominalValue === null ? '–' : formatNumber(nominalValue)} <span className="unit">{unit}</span>
      </td>
      <td>{low === null || high === null ? '–' : `${formatNumber(low)} … ${formatNumber(high)}`}</td>
      <td>{sharePercent(now.share)}</td>
      <td>{sharePercent(afterCalibration.share)}</td>
      <td className="words">
        {contributors
          .slice(0, 2)
          .map((contributor) => `${contributor.title} ${sharePercent(contributor.share)}`)
          .join(', ')}
      </td>
    </tr>
  );
}
