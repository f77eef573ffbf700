import { useCallback, useEffect, useState } from 'react';
import { counted } from '../../base/index.js';
import type { Region } from '../../image/index.js';
import { type FigureSize, formatFixed, partsFigure } from '../../report/index.js';
import type { FocusedPart, FocusMethodName, PartsSummary, Station } from '../../station/index.js';
import { useFocusRuns } from '../state/use-focus-runs.js';
import { FigureView } from './figure-view.js';

/** Parts that arrive at changing distance, one search each: a running list and figure. */
export function PartsRun({
  station,
  on,
  method,
  region,
  isBlocked,
  onBusy,
}: {
  station: Station;
  on: { camera: 'simulated' | 'live'; yaml: string; seed: number; workingDistanceMm: number };
  method: FocusMethodName;
  region: Region | 'texture' | null;
  /** Another search runs. */
  isBlocked: boolean;
  onBusy: (isBusy: boolean) => void;
}) {
  const [count, setCount] = useState(20);
  const [isTold, setIsTold] = useState(true);
  const runs = useFocusRuns(() => {});
  const { tried, running, trouble, begin, cancel, partIsThere } = runs;
  useEffect(() => onBusy(running !== null), [running, onBusy]);
  const seen = tried[0]?.seen;
  const isLive = on.camera === 'live';
  const { nearMm, farMm } = station.task;
  return (
    <section aria-label="Parts in turn">
      <h2 className="step-part">Parts in turn</h2>
      <p>
        {isLive
          ? 'One search for each part that you announce; the lens waits at the last good power in between, and is parked at the end.'
          : `One search for each part; parts stand anywhere from ${formatFixed(nearMm, 0)} to ${formatFixed(farMm, 0)} mm. A search that is told the distance begins at the power that the station’s model says, and learns what the parts have in common.`}
      </p>
      <div className="toolbar">
        <label>
          Parts{' '}
          <input
            type="number"
            min={1}
            max={10000}
            value={count}
            onChange={(event) => setCount(Math.min(10000, Math.max(1, Math.floor(Number(event.target.value)))))}
          />
        </label>
        {!isLive && (
          <label>
            <input type="checkbox" checked={isTold} onChange={(event) => setIsTold(event.target.checked)} /> Distances
            are told
          </label>
        )}
        <button
          type="button"
          disabled={running !== null || isBlocked || region === null}
          onClick={() => region && void begin([{ ...on, method, region, parts: { count, nearMm, farMm, isTold } }])}
        >
          Follow parts
        </button>
        {seen?.waitingFor != null && (
          <button type="button" className="primary" onClick={partIsThere}>
            Part {seen.waitingFor} is there
          </button>
        )}
        {running !== null && (
          <button type="button" onClick={cancel}>
            Cancel
          </button>
        )}
      </div>
      {running && (
        <p role="status">
          {seen?.waitingFor != null
            ? `Waiting for part ${seen.waitingFor}`
            : `Part ${(seen?.parts.length ?? 0) + 1} of ${count}: ${counted(seen?.frames.length ?? 0, 'frame')} …`}
        </p>
      )}
      {trouble && <p role="alert">{trouble}</p>}
      {seen && seen.parts.length > 0 && (
        <>
          <PartsFigure parts={seen.parts} summary={seen.summary} simulated={!isLive} />
          {seen.summary && <PartsEnd summary={seen.summary} />}
          <PartsTable parts={seen.parts} />
        </>
      )}
    </section>
  );
}

function PartsFigure({
  parts,
  summary,
  simulated,
}: {
  parts: readonly FocusedPart[];
  summary: PartsSummary | null;
  simulated: boolean;
}) {
  const draw = useCallback((size: FigureSize) => partsFigure({ parts, summary }, size), [parts, summary]);
  return <FigureView draw={draw} aspect={0.36} simulated={simulated} />;
}

/** Standard deviations from 0 from which on a drift is told as one. */
const tellingSigmas = 3;

function PartsEnd({ summary: { drift } }: { summary: PartsSummary }) {
  if (!drift) return null;
  const { changeDpt, changeStdDpt } = drift;
  const isTelling = Math.abs(changeDpt) > tellingSigmas * changeStdDpt;
  return (
    <p>
      Drift {formatFixed(1000 * changeDpt, 2)} ± {formatFixed(1000 * changeStdDpt, 2)} mdpt a part
      {isTelling ? ': lens or station changes; calibrate anew.' : ', not to be told from none.'}
    </p>
  );
}

/** The latest first, so that the list stands still below the figure. */
function PartsTable({ parts }: { parts: readonly FocusedPart[] }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls has to be reached by the keyboard
    <section className="table-scroll parts-list" tabIndex={0} aria-label="Parts, the latest first">
      <table>
        <thead>
          <tr>
            {['Part', 'Distance, mm', 'Expected, dpt', 'Found, dpt', 'Frames', 'Time, ms'].map((head) => (
              <th key={head} scope="col">
                {head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {[...parts].reverse().map(({ number, workingDistanceMm, expected, result }) => (
            <tr key={number}>
              <th scope="row">{number}</th>
              <td>{workingDistanceMm === null ? '–' : formatFixed(workingDistanceMm, 1)}</td>
              <td>{expected ? pair(expected) : '–'}</td>
              <td>
                {result.kind === 'found' ? (
                  pair(result)
                ) : (
                  <span title={`${result.message} ${result.remedy}`}>refused: {result.reason}</span>
                )}
              </td>
              <td>{result.frames}</td>
              <td>{formatFixed(result.elapsedMs, 0)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

const pair = ({ focalPowerDpt, focalPowerStdDpt }: { focalPowerDpt: number; focalPowerStdDpt: number }) =>
  `${formatFixed(focalPowerDpt, 3)} ± ${formatFixed(focalPowerStdDpt, 3)}`;
