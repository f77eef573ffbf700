import type { BudgetChange, BudgetTerm, Station } from '../station/index.js';

/** What could be changed about one contribution, and what share of its standard deviation that leaves. */
interface PossibleChange {
  term: BudgetTerm['name'];
  change: string;
  remainingShare: number;
}

/**
 * The change that shrinks the focus error most.
 *
 * Model    one change at a time, the others as they are; each as large as is commonly had: temperature corrected by its
 *          reading; hysteresis gone by approaching every power from one side; a control step of a quarter; half the
 *          repeatability; twice the calibration distances. How large they are is common practice, no source
 * Returns  null where nothing moves the focus.
 * Checked  property: no other change leaves less, tests/planning/focus-budget.test.ts
 */
export function firstChangeOf({
  station,
  terms,
  correctedTemperatureDpt,
}: {
  station: Station;
  terms: readonly BudgetTerm[];
  /** Standard deviation that temperature would leave if its reading corrected the power. */
  correctedTemperatureDpt: number;
}): BudgetChange | null {
  const stdOf = (name: BudgetTerm['name']) => terms.find((term) => term.name === name)?.valueDpt ?? 0;
  const changes = possibleChanges(station, stdOf('temperature'), correctedTemperatureDpt).map(
    ({ term, change, remainingShare }): BudgetChange => ({
      term,
      change,
      rootSumSquareDpt: Math.hypot(
        ...terms.map(({ name, valueDpt }) => (name === term ? remainingShare * valueDpt : valueDpt)),
      ),
    }),
  );
  const best = changes.reduce((a, b) => (b.rootSumSquareDpt < a.rootSumSquareDpt ? b : a));
  return stdOf(best.term) > 0 ? best : null;
}

function possibleChanges(station: Station, temperatureDpt: number, correctedDpt: number): PossibleChange[] {
  const temperature: PossibleChange = station.controls.compensateTemperature
    ? { term: 'temperature', change: 'read the lens’s temperature twice as exactly', remainingShare: 0.5 }
    : {
        term: 'temperature',
        change: 'correct the power by the lens’s temperature reading (controls.compensateTemperature: true)',
        remainingShare: temperatureDpt > 0 ? Math.min(1, correctedDpt / temperatureDpt) : 1,
      };
  return [
    temperature,
    {
      term: 'hysteresis',
      change: 'approach every power from the same side, by more than the hysteresis',
      remainingShare: 0,
    },
    { term: 'control-step', change: 'take a lens driver with a control step of a quarter', remainingShare: 0.25 },
    { term: 'repeatability', change: 'take a lens that repeats twice as well', remainingShare: 0.5 },
    {
      term: 'calibration',
      change: 'calibrate at twice as many distances',
      remainingShare: Math.SQRT1_2,
    },
  ];
}
