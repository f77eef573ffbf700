import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { openRecordedBench } from '../../src/drivers/index.js';
import { focusHalfWidthDpt, powerForDistance, runCommission } from '../../src/procedures/index.js';
import { type CommissionRecord, readStation } from '../../src/station/index.js';
import { memoryEvidence } from './fake-bench.js';

/** Frames computed by numpy outside this project's code, with the truth beside them: references/README.md. */
const folder = fileURLToPath(new URL('../../references/recorded-frames', import.meta.url));
const station = readStation(readFileSync(`${folder}/station.yaml`, 'utf8'), { fileName: 'station.yaml' });
const truth: {
  hidden: { powerGain: number; powerOffsetDpt: number; ringDistanceRelative: number };
  distances: { workingDistanceMm: number; bestFocusDpt: number; predictedByFileDpt: number }[];
  edges: { orientation: string; mtfAtBestFocus: { frequencyPerPx: number; value: number }[] }[];
} = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8'));

describe('commission on recorded frames', () => {
  let record: CommissionRecord;
  const kept: string[] = [];
  beforeAll(async () => {
    ({ record } = await runCommission({
      station,
      stationSha256: '0'.repeat(64),
      planned: [],
      startedOn: '2026-11-24T08:00:00.000Z',
      bench: await openRecordedBench(folder),
      evidence: memoryEvidence(kept),
      observer: () => {},
      signal: { aborted: false },
      softwareVersion: '0.0.0-test',
      seed: null,
    }));
  });

  it('recovery: best focus at each distance within its 2 σ, and within a tenth of the depth-of-field half-width', () => {
    expect(record.state).toBe('complete');
    expect(record.autofocus).toHaveLength(truth.distances.length);
    for (const { workingDistanceMm, bestFocusDpt } of truth.distances) {
      const found = record.autofocus.find((a) => a.workingDistanceMm === workingDistanceMm);
      if (found?.kind !== 'found') throw new Error(`${workingDistanceMm} mm: ${found?.message}`);
      const off = Math.abs(found.focalPowerDpt - bestFocusDpt);
      expect(off).toBeLessThan(2 * found.focalPowerStdDpt);
      expect(off).toBeLessThan(0.1 * focusHalfWidthDpt({ station, workingDistanceMm }));
    }
  });

  it('recovery: the prediction is that of the reference, and the gain of the lens is found within 2 σ', () => {
    if (record.calibration?.kind !== 'fitted') throw new Error('not fitted');
    for (const { workingDistanceMm, predictedDpt } of record.calibration.points) {
      const reference = truth.distances.find((d) => d.workingDistanceMm === workingDistanceMm);
      expect(predictedDpt).toBeCloseTo(reference!.predictedByFileDpt, 5);
    }
    const gain = record.calibration.parameters.find((p) => p.name === 'powerGain')!.fitted;
    expect(Math.abs(gain.value - truth.hidden.powerGain)).toBeLessThan(2 * gain.std!);
    expect(record.calibration.explanation).toContain('No single build error explains it');
  });

  it('recovery: the curve goes through the truth within its 95 % interval', () => {
    const { calibration } = record;
    if (calibration?.kind !== 'fitted') throw new Error('not fitted');
    for (const { workingDistanceMm, bestFocusDpt } of truth.distances) {
      const at = powerForDistance({ calibration, workingDistanceMm });
      expect(Math.abs(at.focalPowerDpt - bestFocusDpt)).toBeLessThan(at.predicted95Dpt);
    }
  });

  it('recovery: MTF of the edge, at the known offset from best focus, within 2 σ or 0.015 of the truth', () => {
    expect(record.resolution.map((r) => r.name)).toEqual(['near', 'middle', 'far']);
    for (const { result, frame } of record.resolution) {
      if (result.kind !== 'measured') throw new Error(result.reason);
      expect(frame).not.toBe('');
      // Best recorded power lies within 0.013 dpt of best focus, less than a quarter wave: the truth in focus holds to 0.01.
      const curve = truth.edges.find((edge) => edge.orientation === result.orientation)!.mtfAtBestFocus;
      for (const { frequencyPerPx, value } of curve) {
        const measured = result.mtf.find((m) => Math.abs(m.frequencyPerPx - frequencyPerPx) < 1e-9)!;
        expect(Math.abs(measured.value - value)).toBeLessThan(Math.max(0.015, 2 * measured.std));
      }
      expect(Math.abs(result.mtfAtTask.value - result.predictedMtfAtTask)).toBeLessThan(0.015);
    }
  });

  it('property: only recorded powers are used, each kept once per use, and nothing is called simulated', () => {
    expect(record.simulated).toBe(false);
    expect(record.device.id).toBe('frames:recorded-frames');
    expect(record.frames.filter((f) => f.purpose === 'sweep')).toHaveLength(90);
    expect(kept).toHaveLength(record.frames.length);
  });
});
