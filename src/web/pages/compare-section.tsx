import { useEffect, useMemo, useState } from 'react';
import type { LedgerRow } from '../../base/index.js';
import { planSharpness } from '../../planning/index.js';
import type { StationSummary } from '../../protocol/index.js';
import { ledgerRowText, type NumberText, unitsKept } from '../../report/index.js';
import type { PlanRecord, SharpnessRecord, Station } from '../../station/index.js';
import { ScrollTable } from '../parts/scroll-table.js';
import { VerdictMark } from '../parts/verdict.js';
import { ServerError, server } from '../state/server.js';
import { plannedText, useStation } from '../state/station-state.js';
import { OverFieldAndDistance } from './sharpness-section.js';

/** A station with its plan. */
interface Planned {
  station: Station;
  plan: PlanRecord;
}

const asOpened = 'as opened';

/** The layout beside another: the station as it was opened, or another one; same scales, both predictions. */
export function CompareSection({ station, plan }: Planned) {
  const openedYaml = useStation((state) => state.openedYaml);
  const name = useStation((state) => state.name);
  const [stations, setStations] = useState<StationSummary[]>([]);
  const [choice, setChoice] = useState('');
  const [otherYaml, setOtherYaml] = useState<string | null>(null);
  const [trouble, setTrouble] = useState<string | null>(null);
  const tell = (error: unknown) => {
    if (!(error instanceof ServerError)) throw error;
    setTrouble(`${error.message} ${error.remedy}`);
  };
  const choose = (chosen: string) => {
    setChoice(chosen);
    setTrouble(null);
    setOtherYaml(chosen === asOpened ? openedYaml : null);
    if (chosen !== '' && chosen !== asOpened) server.station(chosen).then(({ yaml }) => setOtherYaml(yaml), tell);
  };
  useEffect(() => {
    server.stations().then(setStations, () => setStations([]));
  }, []);
  const other = useMemo(() => (otherYaml === null ? null : plannedText(otherYaml)), [otherYaml]);
  return (
    <section aria-label="Comparison">
      <h2 className="step-part">Compare</h2>
      <div className="toolbar">
        <label>
          Beside this layout{' '}
          <select value={choice} onChange={(event) => choose(event.target.value)}>
            <option value="">nothing</option>
            <option value={asOpened}>{name} as opened, before the changes</option>
            {stations
              .filter((one) => one.name !== name)
              .map((one) => (
                <option key={one.name} value={one.name}>
                  {one.name}
                  {one.invented ? ' (invented)' : ''}
                </option>
              ))}
          </select>
        </label>
      </div>
      {trouble && <p role="alert">{trouble}</p>}
      {other?.kind === 'problems' && <p role="alert">The other station cannot be planned: {other.problems[0]}</p>}
      {other?.kind === 'planned' && (
        <SideBySide own={{ station, plan }} other={other} otherName={choice === asOpened ? asOpened : choice} />
      )}
    </section>
  );
}

/** On one scale the narrower range of distances must still fill this share. */
const leastShare = 0.2;

function comparable(a: SharpnessRecord, b: SharpnessRecord): boolean {
  const ends = [a, b].map(
    ({ overDistance: { workingDistancesMm: mm } }) => [Math.min(...mm), Math.max(...mm)] as const,
  );
  const whole = Math.max(...ends.map(([, high]) => high)) - Math.min(...ends.map(([low]) => low));
  return Math.min(...ends.map(([low, high]) => high - low)) >= leastShare * whole;
}

function SideBySide({ own, other, otherName }: { own: Planned; other: Planned; otherName: string }) {
  const ownSharpness = useMemo(() => planSharpness(own.station), [own.station]);
  const otherSharpness = useMemo(() => planSharpness(other.station), [other.station]);
  const both = useMemo(
    () => (comparable(ownSharpness, otherSharpness) ? [ownSharpness, otherSharpness] : []),
    [ownSharpness, otherSharpness],
  );
  return (
    <>
      <div className="compared">
        <div>
          <h3>
            This layout <VerdictMark verdict={own.plan.verdict} />
          </h3>
          <OverFieldAndDistance station={own.station} sharpness={ownSharpness} scaleWith={both} />
        </div>
        <div>
          <h3>
            {otherName} <VerdictMark verdict={other.plan.verdict} />
          </h3>
          <OverFieldAndDistance station={other.station} sharpness={otherSharpness} scaleWith={both} />
        </div>
      </div>
      {both.length === 0 && (
        <p className="soft">The distances of the two tasks lie far apart: each drawing has scales of its own.</p>
      )}
      <ComparedLedger own={own.plan.ledger} other={other.plan.ledger} otherName={otherName} />
    </>
  );
}

function ComparedLedger({
  own,
  other,
  otherName,
}: {
  own: readonly LedgerRow[];
  other: readonly LedgerRow[];
  otherName: string;
}) {
  const keys = [...new Set([...own, ...other].map(({ key }) => key))];
  const rowOf = (rows: readonly LedgerRow[], key: string) => rows.find((row) => row.key === key);
  return (
    <ScrollTable label="Both ledgers">
      <caption>Predicted against each task</caption>
      <thead>
        <tr>
          <th scope="col">Requirement</th>
          <th scope="col">Required here</th>
          <th scope="col">This layout</th>
          <th scope="col">Required there</th>
          <th scope="col">{otherName}</th>
        </tr>
      </thead>
      <tbody>
        {keys.map((key) => {
          const [here, there] = [rowOf(own, key), rowOf(other, key)];
          return (
            <tr key={key}>
              <th scope="row">{unitsKept((here ?? there)!.title)}</th>
              <LedgerCells row={here} />
              <LedgerCells row={there} />
            </tr>
          );
        })}
      </tbody>
    </ScrollTable>
  );
}

function LedgerCells({ row }: { row: LedgerRow | undefined }) {
  if (!row) {
    return (
      <>
        <td>–</td>
        <td>not in this plan</td>
      </>
    );
  }
  const { required, predicted } = ledgerRowText(row);
  return (
    <>
      <td>
        <NumberCell number={required} />
      </td>
      <td>
        <NumberCell number={predicted} /> <VerdictMark verdict={row.verdict} />
      </td>
    </>
  );
}

function NumberCell({ number: { value, unit } }: { number: NumberText }) {
  return (
    <>
      {value} {unit && <span className="unit">{unit}</span>}
    </>
  );
}
