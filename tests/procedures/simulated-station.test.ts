import { beforeAll, describe, expect, it } from 'vitest';
import { focalPowerActualDpt, layoutDefocusWaves, systemMtf, traceSystem } from '../../src/optics/index.js';
import { runAutofocus } from '../../src/procedures/autofocus/run.js';
import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { focusHalfWidthDpt, powerForDistance, runCommission } from '../../src/procedures/index.js';
import { type CommissionRecord, layoutAsBuilt, nominalBuild } from '../../src/station/index.js';
import { createSimulatedBench, type Fault, type SimulatedBench } from '../../src/twin/index.js';
import { fakeRun, memoryEvidence } from './fake-bench.js';
import { glazeStation } from './glaze-station.js';

// A smaller sensor of the same pitch: the same optics, in a tenth of the time.
const station = glazeStation((file) => {
  file.parts.sensor.widthPx = 480;
  file.parts.sensor.heightPx = 384;
});
const { referenceTemperatureDegC, wavelengthNm } = { ...station.parts.tunableLens, ...station.parts.light };

async function commission(bench: SimulatedBench): Promise<CommissionRecord> {
  const { record } = await runCommission({
    station,
    stationSha256: '0'.repeat(64),
    planned: [],
    startedOn: '2026-11-24T08:00:00.000Z',
    bench,
    evidence: memoryEvidence([]),
    observer: () => {},
    signal: { aborted: false },
    softwareVersion: '0.0.0-test',
    seed: 0,
  });
  return record;
}

function hiddenBuild({ truth }: SimulatedBench) {
  const nominal = nominalBuild(station);
  return {
    ...nominal,
    powerOffsetDpt: truth.lensOffsetDpt,
    powerGain: truth.lensGain,
    ringDistanceRelative: truth.ringDistanceRatio - 1,
    spacerMm: nominal.spacerMm + truth.spacerMm,
    focalLengthMm: nominal.focalLengthMm + truth.focalLengthMm,
  };
}

/** Command that truly focuses a distance when approached from below, at a lens temperature as read. */
function trueCommandDpt(bench: SimulatedBench, workingDistanceMm: number, readDegC: number): number {
  const { truth } = bench;
  const driftDpt =
    truth.temperatureCoefficientDptPerDegC * (readDegC - truth.temperatureReadingDegC - referenceTemperatureDegC);
  const rigid = focusCommandDpt({ station, build: hiddenBuild(bench), workingDistanceMm });
  return rigid - driftDpt / truth.lensGain + truth.hysteresisDpt / 2;
}

describe.each([3, 8])('commission on the simulated station, hidden build errors of seed %i', (seed) => {
  const bench = createSimulatedBench({ station, seed });
  let record: CommissionRecord;
  beforeAll(async () => {
    record = await commission(bench);
  });

  it('recovery: best focus at each distance within 0.3 of the depth-of-field half-width of the truth', () => {
    expect(record).toMatchObject({ state: 'complete', simulated: true });
    expect(record.autofocus).toHaveLength(7);
    for (const found of record.autofocus) {
      if (found.kind !== 'found') throw new Error(found.message);
      const truthDpt = trueCommandDpt(bench, found.workingDistanceMm, found.temperatureDegC!);
      const allowed = 0.3 * focusHalfWidthDpt({ station, workingDistanceMm: found.workingDistanceMm });
      expect(Math.abs(found.focalPowerDpt - truthDpt)).toBeLessThan(allowed);
    }
    expect(record.frames.length).toBeLessThan(150);
  });

  it('recovery: at distances not used the calibration predicts what autofocus finds, within its 95 % interval', async () => {
    const { calibration } = record;
    if (calibration?.kind !== 'fitted') throw new Error('not fitted');
    const { run } = await fakeRun(bench, station);
    const { temperatureCoefficientDptPerDegC } = station.parts.tunableLens;
    for (const workingDistanceMm of [350, 470]) {
      await bench.stage.placeTarget({ workingDistanceMm });
      const found = await runAutofocus(run, { workingDistanceMm, expected: null });
      if (found.kind !== 'found') throw new Error(found.message);
      const lens = { temperatureDegC: found.temperatureDegC!, temperatureCoefficientDptPerDegC };
      const at = powerForDistance({ calibration, workingDistanceMm, lens });
      expect(Math.abs(at.focalPowerDpt - found.focalPowerDpt)).toBeLessThan(at.predicted95Dpt);
    }
  });

  it('recovery: the lens settles as its datasheet says', () => {
    const row = record.ledger.find(({ key }) => key === 'settling.residual');
    expect(row).toMatchObject({ verdict: 'meets' });
  });

  it('recovery: MTF at the task frequency within 2 σ or 0.03 of the true optics, and near the prediction', () => {
    const reading = record.resolution.at(-1);
    if (reading?.result.kind !== 'measured') throw new Error('not measured');
    const { truth } = bench;
    const model = layoutAsBuilt(station, hiddenBuild(bench));
    const frame = record.frames.find((f) => f.file === reading.frame)!;
    const focalPowerDpt = focalPowerActualDpt({
      commandedDpt: reading.focalPowerDpt - truth.hysteresisDpt / 2,
      gain: truth.lensGain,
      offsetDpt: truth.lensOffsetDpt,
      temperatureDegC: frame.temperatureDegC! - truth.temperatureReadingDegC,
      referenceTemperatureDegC,
      temperatureCoefficientDptPerDegC: truth.temperatureCoefficientDptPerDegC,
    });
    const sphericalWaves = truth.sphericalAberrationNm / wavelengthNm;
    const defocus = layoutDefocusWaves({
      model,
      focalPowerDpt,
      workingDistanceMm: reading.workingDistanceMm,
      wavelengthNm,
    });
    const { pixelPitchUm } = station.parts.sensor;
    const trueMtf = systemMtf({
      wavelengthNm,
      pixelPitchUm,
      sphericalWaves,
      // The twin focuses where the variance of the wavefront is least.
      defocusWaves: defocus - sphericalWaves,
      workingFNumber: traceSystem({ model, focalPowerDpt }).workingFNumber,
      spatialFrequencyPerMm: reading.result.taskFrequencyPerPx / (pixelPitchUm / 1000),
    });
    const { value, std } = reading.result.mtfAtTask;
    expect(Math.abs(value - trueMtf)).toBeLessThan(Math.max(0.03, 2 * std!));
    expect(Math.abs(value - reading.result.predictedMtfAtTask)).toBeLessThan(0.1);
  });
});

describe('faults of the simulated station', () => {
  const faulty = (...faults: Fault[]) => createSimulatedBench({ station, seed: 3, faults });

  it('recovery: lost and late frames cost time, not the result', async () => {
    const record = await commission(
      faulty({ kind: 'lost-frame', probability: 0.05 }, { kind: 'late-frame', probability: 0.2, delayMs: 100 }),
    );
    expect(record.state).toBe('complete');
    expect(record.calibration?.kind).toBe('fitted');
  });

  it('recovery: a lens that settles five times slower than its datasheet is noticed', async () => {
    const record = await commission(faulty({ kind: 'slow-settling', ratio: 5 }));
    const row = record.ledger.find(({ key }) => key === 'settling.residual');
    expect(row?.verdict).toBe('fails');
    expect(row?.remedy).toContain('slower than the station file says');
  });

  it('refuses a stuck lens, reported or not, and a lost link, with what was measured until then', async () => {
    const reported = await commission(faulty({ kind: 'stuck-lens', commandCount: 12, isReported: true }));
    expect(reported.state).toBe('failed');
    expect(reported.stateReason).toContain('does not follow the command');
    expect(reported.frames.length).toBeGreaterThan(5);
    const unnoticed = await commission(faulty({ kind: 'stuck-lens', commandCount: 3, isReported: false }));
    expect(unnoticed.autofocus.every((a) => a.kind === 'refused')).toBe(true);
    expect(unnoticed.calibration?.kind).toBe('refused');
    const link = await commission(faulty({ kind: 'lost-link', frameCount: 30 }));
    expect(link).toMatchObject({ state: 'failed', calibration: null });
    expect(link.frames).toHaveLength(30);
  });

  it('recovery: light eight times too bright is turned down', async () => {
    const record = await commission(faulty({ kind: 'saturated-light', ratio: 8 }));
    expect(record.calibration?.kind).toBe('fitted');
    expect(record.provenance.parameters.exposureMs).toBeLessThan(0.3);
  });
});
