import { beforeAll, describe, expect, it } from 'vitest';
import { loadParts, loadSearchTask, runSearch } from '../../../src/app/index.js';
import { planStation, searchSlice, searchSpaceOf } from '../../../src/planning/index.js';
import { marginsOf } from '../../../src/planning/search/margins.js';
import { type PartsLibrary, readStation, type SearchRecord } from '../../../src/station/index.js';

const about = { stationSha256: '', softwareVersion: '' };
const someOf = (parts: PartsLibrary): PartsLibrary => ({
  ...parts,
  sensors: parts.sensors.filter(({ name }) => /752|1280 × 1024|2448/.test(name)),
  fixedLenses: parts.fixedLenses.filter(({ name }) => /^Lens (6|16|50) mm/.test(name)),
  tunableLenses: parts.tunableLenses.filter(({ name }) => /6 mm|30 mm/.test(name)),
});

let parts: PartsLibrary;
let record: SearchRecord;
beforeAll(async () => {
  parts = someOf(await loadParts());
  const space = searchSpaceOf({ task: await loadSearchTask('glaze-line'), parts, ringCount: 6 });
  record = await runSearch({ space, threadCount: 1 });
}, 120_000);

describe('record of a search', () => {
  it('property: a saved layout is a station file that plans with the numbers and the verdict of the list', () => {
    expect(record.met).toBe(true);
    for (const layout of record.layouts.slice(0, 12)) {
      const station = readStation(layout.yaml, { fileName: `rank ${layout.rank}` });
      expect(marginsOf(station)).toEqual(layout.margins);
      const plan = planStation(station, about);
      expect(plan.verdict).toBe(layout.verdict);
      expect(['meets', 'marginal']).toContain(plan.verdict);
      const row = (key: string) => plan.ledger.find((each) => each.key === key)!.predicted!.value;
      expect(row('field.width') / station.task.fieldWidthMm - 1).toBeCloseTo(layout.margins.fieldWidth!, 12);
      expect(1 - row('timing.cycle') / station.task.cycleTimeMs).toBeCloseTo(layout.margins.cycle!, 12);
    }
  });

  it('property: ranked by the smallest margin, which is that of the named requirement', () => {
    const smallest = record.layouts.map(({ smallestMargin }) => smallestMargin);
    expect(smallest).toEqual([...smallest].sort((a, b) => b - a));
    for (const { margins, smallestMargin, smallestRequirement } of record.layouts) {
      expect(Math.min(...Object.values(margins))).toBe(smallestMargin);
      expect(margins[smallestRequirement]).toBe(smallestMargin);
      expect(smallestMargin).toBeGreaterThanOrEqual(0);
    }
    expect(record.layouts[0]!.onParetoFront).toBe(true);
  });

  it('closed form: a sensor of 752 pixels cannot sample 0.2 mm on 110 mm, and the reason says so', () => {
    const rejected = record.rejectedParts.find(({ name }) => name.includes('752'))!;
    expect(rejected).toMatchObject({ kind: 'sensor', requirement: 'sampling' });
    // 110 mm on 752 pixels: 0.2 mm cover 1.37 px where the field is just met; far away less.
    expect(rejected.bestMargin).toBeLessThan(0);
    expect(rejected.reason).toMatch(/^in every layout that meets reach and field, .* covers at most 0\.\d+ px/);
  });

  it('property: the same list from slices in any number', async () => {
    const space = searchSpaceOf({ task: await loadSearchTask('glaze-line'), parts, ringCount: 6 });
    const found = [0, 1, 2].flatMap((sliceIndex) => searchSlice(space, { sliceIndex, sliceCount: 3 }).found);
    expect(found.length).toBe(record.choiceCount);
  });

  it('degenerate: a task that nothing meets gives the nearest misses, each with its requirement', async () => {
    const task = await loadSearchTask('glaze-line');
    const hard = { ...task, task: { ...task.task, cycleTimeMs: 15 } };
    const missed = await runSearch({ space: searchSpaceOf({ task: hard, parts, ringCount: 3 }), threadCount: 1 });
    expect(missed.met).toBe(false);
    expect(missed.layouts.length).toBeGreaterThan(0);
    expect(missed.layouts[0]!.smallestMargin).toBeLessThan(0);
    expect(missed.layouts.every(({ onParetoFront, verdict }) => !onParetoFront && verdict === 'fails')).toBe(true);
    expect(missed.rejectedParts.length).toBe(
      parts.sensors.length + parts.fixedLenses.length + parts.tunableLenses.length + parts.spacers.length,
    );
  }, 120_000);

  it('refuses a library without a kind of part, and stops when it is cancelled', async () => {
    const task = await loadSearchTask('glaze-line');
    expect(() => searchSpaceOf({ task, parts: { ...parts, sensors: [], spacers: [] } })).toThrow(
      /no sensor.*\n.*no spacer/s,
    );
    expect(() => searchSpaceOf({ task: { ...task, light: null }, parts: { ...parts, lights: [] } })).toThrow(
      'no light',
    );
    const space = searchSpaceOf({ task, parts });
    const first = { sliceIndex: 0, sliceCount: 1 };
    expect(() => searchSlice(space, first, { signal: { aborted: true } })).toThrow('cancelled');
  });

  it('property: the pottery line’s own focal length is among what is found for its task', () => {
    expect(record.layouts.some(({ parts: { fixedLens } }) => fixedLens.startsWith('Lens 16 mm'))).toBe(true);
  });
});
