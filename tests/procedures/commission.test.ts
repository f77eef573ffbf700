import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FocuswrightError, type LedgerRow } from '../../src/base/index.js';
import { runCommission } from '../../src/procedures/index.js';
import type { RunEvent } from '../../src/protocol/index.js';
import type { Station } from '../../src/station/index.js';
import { type FakeBench, type FakeBenchOptions, fakeBench, memoryEvidence } from './fake-bench.js';
import { glazeStation } from './glaze-station.js';

const station = glazeStation();

async function commission(
  options: Partial<FakeBenchOptions>,
  { of = station as Station, signal = { aborted: false }, planned = [] as LedgerRow[] } = {},
) {
  const bench = fakeBench({ station: of, ...options });
  const events: RunEvent[] = [];
  const kept: string[] = [];
  const { record } = await runCommission({
    station: of,
    stationSha256: 'a'.repeat(64),
    planned,
    startedOn: '2026-11-24T08:00:00.000Z',
    bench,
    evidence: memoryEvidence(kept),
    observer: (event) => events.push(event),
    signal,
    softwareVersion: '0.0.0-test',
    seed: 3,
  });
  return { bench, events, kept, record };
}

const untilGrab = (count: number, then: () => void) => (seen: number) => {
  if (seen === count) then();
};

function expectParked(bench: FakeBench) {
  expect(bench.parks).toBe(1);
}

describe('commission', () => {
  it('recovery: a bench with hidden build errors is calibrated, within the interval, at distances not used', async () => {
    const build = { powerOffsetDpt: -0.06, powerGain: 1.015, spacerMm: 0.01 };
    const { bench, record, events, kept } = await commission({ build });
    expect(record.state).toBe('complete');
    if (record.calibration?.kind !== 'fitted') throw new Error('not fitted');
    for (const { workingDistanceMm, focalPowerDpt, predicted95Dpt } of record.calibration.curve) {
      expect(Math.abs(focalPowerDpt - bench.trueCommandDpt(workingDistanceMm))).toBeLessThan(predicted95Dpt);
    }
    const distances = record.calibration.points.map((p) => p.workingDistanceMm);
    expect(distances).toEqual([340, 362.74, 388.74, 418.76, 453.8, 495.23, 545]);
    expect(record.calibration.residualRmsDpt).toBeLessThan(0.01);
    expect(record.frames.length).toBeLessThan(180);
    expect(kept).toHaveLength(record.frames.length);
    expect(new Set(record.frames.map((f) => f.file)).size).toBe(record.frames.length);
    expect(record.autofocus.map((a) => a.kind)).toEqual(Array(7).fill('found'));
    expect(record.simulated).toBe(true);
    expect(record.provenance).toMatchObject({ seed: 3, inputHashes: { station: 'a'.repeat(64) }, device: 'sim:fake' });
    const steps = events.flatMap((e) => (e.type === 'step-started' ? [e.step] : []));
    expect(steps).toEqual(['identify', 'sweep', 'distance-calibration', 'resolution-check']);
    expect(events.filter((e) => e.type === 'sweep-point')).toHaveLength(
      record.autofocus.reduce((n, a) => n + a.frames, 0),
    );
    expect(events.at(-1)).toMatchObject({ type: 'finished', state: 'complete', verdict: record.verdict });
    expectParked(bench);
  });

  it('property: the ledger has each quantity once, with a reason, and a remedy wherever it does not meet', async () => {
    const { record } = await commission({});
    const keys = record.ledger.map((row) => row.key);
    expect(new Set(keys).size).toBe(keys.length);
    expect(keys).toEqual(
      expect.arrayContaining([
        'reach.near',
        'focus.middle',
        'calibration.residualRms',
        'resolution.far.mtfAtTask',
        'light.meanGrey',
      ]),
    );
    for (const row of record.ledger) {
      expect(row.reason, row.key).not.toBe('');
      if (row.verdict !== 'meets') expect(row.remedy, row.key).not.toBeNull();
    }
    expect(JSON.stringify(record)).not.toContain('Infinity');
    // A texture without an edge: refused and kept as a result.
    expect(record.resolution.map((r) => r.result.kind)).toEqual(['refused', 'refused', 'refused']);
  });

  it('property: what the bench does not measure stands as predicted, and its verdict counts', async () => {
    const row = (key: string, verdict: LedgerRow['verdict']): LedgerRow => ({
      key,
      title: key,
      unit: 'ms',
      required: { min: null, max: 5 },
      predicted: { value: 58, std: null },
      measured: null,
      verdict,
      reason: 'by the plan',
      remedy: 'by the plan',
      basis: 'by the plan',
    });
    const planned = [row('timing.cycle', 'fails'), row('light.signalToNoise', 'meets'), row('reach.near', 'fails')];
    const { record } = await commission({}, { planned });
    expect(record.verdict).toBe('fails');
    expect(record.ledger.filter(({ verdict }) => verdict === 'fails').map(({ key }) => key)).toEqual(['timing.cycle']);
    expect(record.ledger.find(({ key }) => key === 'timing.cycle')).toMatchObject({
      measured: null,
      measuredInWords: 'not measured',
      predicted: { value: 58 },
    });
    expect(record.ledger.filter(({ key }) => key === 'reach.near')).toHaveLength(1);
  });

  it('property: a distance that was never measured does not meet, and the row names the one that was', async () => {
    const of = glazeStation((file) => {
      file.task.farMm = 3000;
    });
    const { record } = await commission({ distancesMm: [340, 360, 385, 415, 450] }, { of });
    const at = (key: string) => record.ledger.find((row) => row.key === key);
    expect(at('focus.far')).toMatchObject({
      verdict: 'unknown',
      title: 'Best focus at far, 3000 mm (from 450 mm)',
      reason: expect.stringMatching(/^Measured at 450 mm; the task’s far is 3000 mm\./),
      remedy: 'Put the target at 3000 mm, or record frames there, and commission again.',
    });
    expect(at('resolution.far.mtfAtTask')).toMatchObject({
      verdict: 'unknown',
      title: 'MTF at the task frequency, far (at 450 mm)',
      reason: expect.stringMatching(/^Measured at 450 mm; the task’s far is 3000 mm\./),
    });
    expect(at('focus.near')).toMatchObject({ verdict: 'meets', title: 'Best focus at near, 340 mm' });
  });

  it('closed form: the limits of the grey value have sensible digits', async () => {
    const { record } = await commission({});
    const { required } = record.ledger.find(({ key }) => key === 'light.meanGrey')!;
    const { blackLevelDn } = station.parts.sensor;
    expect(required).toEqual({ min: Number((blackLevelDn + 5.1).toFixed(1)), max: 242 });
  });

  it('recovery: where measured focus leaves the tolerances the reason names the build error', async () => {
    const { record } = await commission({ build: { powerOffsetDpt: -0.4 } });
    const row = record.ledger.find(({ key }) => key === 'focus.middle');
    expect(row?.reason).toMatch(
      /Most probably the sensor 0\.1\d+ mm nearer to the fixed lens than stated, as by a spacer too short/,
    );
  });

  it('recovery: too much light is turned down before the first sweep, and the ledger says so', async () => {
    const { record } = await commission({ scene: 'white' });
    expect(record.autofocus.every((a) => a.kind === 'found')).toBe(true);
    expect(record.provenance.parameters.exposureMs).toBeLessThan(0.1);
    const row = record.ledger.find(({ key }) => key === 'light.meanGrey');
    expect(row).toMatchObject({ verdict: 'marginal' });
    expect(row?.reason).toContain('adjusted from the station’s 0.6 ms');
  });

  it('recovery: a cancel in the middle of a sweep parks the lens and keeps what was measured', async () => {
    const signal = { aborted: false };
    const { bench, record, kept, events } = await commission(
      { beforeGrab: untilGrab(40, () => Object.assign(signal, { aborted: true })) },
      { signal },
    );
    expectParked(bench);
    expect(record.state).toBe('cancelled');
    expect(record.stateReason).toMatch(/\w\. Start again when ready/);
    expect(kept).toHaveLength(41);
    expect(record.frames).toHaveLength(41);
    expect(record.autofocus.filter((a) => a.kind === 'found').length).toBeGreaterThanOrEqual(2);
    expect(record.autofocus.at(-1)).toMatchObject({ kind: 'refused', reason: 'interrupted' });
    expect(events.at(-1)).toMatchObject({ type: 'finished', state: 'cancelled' });
    expect(record.ledger.filter(({ verdict }) => verdict === 'fails')).toEqual([]);
    for (const row of record.ledger.filter(({ verdict }) => verdict === 'unknown'))
      expect(row.remedy, row.key).toBe('Run the commissioning again.');
    expect(record.ledger.find(({ key }) => key === 'autofocus.found')?.verdict).toBe('unknown');
  });

  it('recovery: a lost link ends as failed with its reason, parked, and keeps what was measured', async () => {
    const lost = () => {
      throw new FocuswrightError('camera-link-lost', { id: 'fake' });
    };
    const { bench, record } = await commission({ beforeGrab: untilGrab(30, lost) });
    expectParked(bench);
    expect(record.state).toBe('failed');
    expect(record.stateReason).toContain('link to the camera was lost');
    expect(record.frames).toHaveLength(30);
    expect(record.autofocus[0]).toMatchObject({ kind: 'found' });
    expect(record.calibration).toBeNull();
  });

  it('refuses a stuck lens: failed, nothing measured is made up', async () => {
    const { bench, record } = await commission({ stuckAtDpt: 0.2 });
    expectParked(bench);
    expect(record).toMatchObject({ state: 'failed', autofocus: [], calibration: null });
    expect(record.ledger.filter((row) => row.measured !== null)).toEqual([]);
  });

  it('refuses a scene without texture after three distances, with reasons in calibration and check', async () => {
    const { record } = await commission({ scene: 'flat' });
    expect(record.state).toBe('complete');
    expect(record.autofocus.map((a) => a.kind === 'refused' && a.reason)).toEqual(Array(3).fill('no-texture'));
    expect(record.calibration).toMatchObject({ kind: 'refused', reason: 'too-few-distances' });
    expect(record.resolution).toHaveLength(3);
    for (const { result } of record.resolution) expect(result).toMatchObject({ kind: 'refused' });
    expect(record.verdict).toBe('fails');
  });

  it('refuses limits of station and device without a power in common: failed, lens untouched', async () => {
    const bench = fakeBench({ station });
    const far = {
      ...bench.camera,
      capabilities: async () => ({ ...(await bench.camera.capabilities()), powerMinDpt: 5, powerMaxDpt: 6 }),
    };
    const { record } = await runCommission({
      station,
      stationSha256: '',
      planned: [],
      startedOn: '2026-11-24T08:00:00.000Z',
      bench: { camera: far, stage: bench.stage },
      evidence: memoryEvidence([]),
      observer: () => {},
      signal: { aborted: false },
      softwareVersion: '',
      seed: null,
    });
    expect(record.state).toBe('failed');
    expect(record.stateReason).toContain('outside the limits');
    expect(bench.commandsDpt).toEqual([]);
  });

  it('property: an error in the program stands beside the record of what was measured, with the lens parked', async () => {
    const broke = new TypeError('broken camera');
    const bench = fakeBench({
      station,
      beforeGrab: untilGrab(40, () => {
        throw broke;
      }),
    });
    const parts = {
      station,
      stationSha256: '',
      planned: [],
      startedOn: '2026-11-24T08:00:00.000Z',
      bench,
      observer: () => {},
      signal: { aborted: false },
      softwareVersion: '',
      seed: null,
    };
    const { record, defect } = await runCommission({ ...parts, evidence: memoryEvidence([]) });
    expect(defect?.error).toBe(broke);
    expect(record).toMatchObject({
      state: 'failed',
      stateReason: 'An error in the program ended the run: broken camera.',
    });
    expect(record.frames).toHaveLength(40);
    expect(record.autofocus.filter((a) => a.kind === 'found').length).toBeGreaterThanOrEqual(1);
    expectParked(bench);
  });

  it('property: whatever limits and build errors, no command outside the limits reaches the camera', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.double({ min: -1.9, max: 0.3, noNaN: true }),
        fc.double({ min: 0.5, max: 2.9, noNaN: true }),
        fc.double({ min: -2, max: 2, noNaN: true }),
        fc.constantFrom('below' as const, 'above' as const),
        async (powerMinDpt, powerMaxDpt, powerOffsetDpt, approachFrom) => {
          const of = glazeStation((file) => {
            file.controls = { exposureMs: 0.6, powerMinDpt, powerMaxDpt, parkPowerDpt: powerMinDpt, approachFrom };
          });
          // The fake throws `lens-power-out-of-range`, which would end the run as failed.
          const { bench, record } = await commission({ build: { powerOffsetDpt } }, { of });
          expect(record.state).toBe('complete');
          expect(Math.min(...bench.commandsDpt)).toBeGreaterThanOrEqual(powerMinDpt);
          expect(Math.max(...bench.commandsDpt)).toBeLessThanOrEqual(powerMaxDpt);
        },
      ),
      { numRuns: 6, seed: 5 },
    );
  });
});
