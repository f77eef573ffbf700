import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const vial = demoStation('vial-stopper');

describe('timing', () => {
  it('closed form: one plane needs exposure and readout, no settling', () => {
    const one = plan(changed(vial, { task: { planesMm: [160] } }));
    expect(one.settlingMs).toBe(0);
    expect(one.cycleMs).toBeCloseTo(0.5 + 13, 9);
  });

  it('closed form: a frame takes no less than the frame rate allows', () => {
    const slow = plan(changed(vial, { task: { planesMm: [160] }, parts: { sensor: { frameRateHz: 20 } } }));
    expect(slow.cycleMs).toBeCloseTo(50, 9);
  });

  it('reference: settling of a critically damped lens to a quarter of the half-width, by its closed form', () => {
    const critical = changed(vial, {
      task: { planesMm: [149, 175] },
      parts: { tunableLens: { dampingRatio: 1, naturalFrequencyHz: 50, deadTimeMs: 2 } },
    });
    const { planes, budget, settlingMs } = plan(critical);
    const stepDpt = planes[0]!.focalPowerDpt! - planes[1]!.focalPowerDpt!;
    // left to go after t: step · (1 + ωt)·e^(−ωt) (textbook step response at ζ = 1)
    const omegaT = (2 * Math.PI * 50 * (settlingMs! - 2)) / 1000;
    const leftDpt = stepDpt * (1 + omegaT) * Math.exp(-omegaT);
    expect(leftDpt).toBeCloseTo(0.25 * Math.min(...budget.map((b) => b.allowedHalfWidthDpt)), 6);
  });

  it('reference: shapers end the ring at their last impulse (Singer & Seering; references/tables/second-order.json)', () => {
    const ringing = changed(vial, { parts: { tunableLens: { naturalFrequencyHz: 85, dampingRatio: 0.1 } } });
    const { timing, settlingMs, ledger } = plan(ringing);
    const slowest = timing.moves.reduce((a, b) => (b.plainMs! > a.plainMs! ? b : a));
    expect(slowest.plainMs).toBe(settlingMs);
    expect(slowest.zeroVibrationMs!).toBeLessThanOrEqual(1.5 + 5.911987 + 1e-6);
    expect(slowest.zeroVibrationDerivativeMs!).toBeLessThanOrEqual(1.5 + 11.823974 + 1e-6);
    expect(ledger.find(({ key }) => key === 'timing.settling')!.reason).toMatch(
      /a command shaped into two partial steps settles in 7\.\d+ ms instead$/,
    );
  });

  it('closed form: planes that fit into a cycle, at the mean time of those planned', () => {
    const { cycleMs, timing } = plan(vial);
    expect(timing.planesPerCycleCount).toBe(Math.floor(166.7 / (cycleMs! / 4)));
    expect(timing.frameMs).toBeCloseTo(13.5, 9);
  });

  it('property: the shaped cycle takes the quicker command of every move', () => {
    const { cycleMs, timing } = plan(demoStation('glaze-line'));
    expect(timing.shapedCycleMs!).toBeLessThanOrEqual(cycleMs!);
    const quicker = timing.moves.map(({ plainMs, zeroVibrationMs }) => Math.min(plainMs!, zeroVibrationMs!));
    // exposure 0.6 and readout 8 ms
    expect(timing.shapedCycleMs).toBeCloseTo(
      quicker.reduce((sum, ms) => sum + ms + 8.6, 0),
      9,
    );
  });

  it('degenerate: a lens that does not ring has no shaped commands', () => {
    const { timing } = plan(changed(vial, { parts: { tunableLens: { dampingRatio: 1.2 } } }));
    expect(timing.shapedCycleMs).toBeNull();
    expect(timing.moves[0]).toMatchObject({ zeroVibrationMs: null, zeroVibrationDerivativeMs: null });
  });

  it('property: more planes never take less time, and the row compares with the cycle', () => {
    const two = plan(changed(vial, { task: { planesMm: [149, 175] } }));
    const four = plan(vial);
    expect(four.cycleMs!).toBeGreaterThan(two.cycleMs!);
    expect(four.ledger.find(({ key }) => key === 'timing.cycle')).toMatchObject({
      required: { min: null, max: 166.7 },
      predicted: { value: four.cycleMs },
      verdict: 'meets',
    });
  });

  it('property: planes to cover the range, edge to edge, lie as close as their depth of field', () => {
    const { planesToCover, planes, reach } = plan(changed(vial, { task: { planesMm: [149, 155, 163, 175] } }));
    const widthsMm = planes.map(({ depthOfFieldMm }) => depthOfFieldMm!);
    const rangeMm = 176 - 148;
    expect(planesToCover!).toBeGreaterThanOrEqual(Math.ceil(rangeMm / Math.max(...widthsMm)));
    expect(planesToCover!).toBeLessThanOrEqual(Math.ceil(rangeMm / Math.min(...widthsMm)));
    expect(reach.coveredShare).toBe(1);
  });
});
