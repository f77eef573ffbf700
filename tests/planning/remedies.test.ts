import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const rowOf = (station: Station, key: string) => plan(station).ledger.find((row) => row.key === key)!;
const numberAfter = (text: string | null, words: RegExp) =>
  Number(new RegExp(`${words.source} ([\\d.]+)`).exec(text ?? '')![1]);
const glaze = demoStation('glaze-line');

describe('remedies', () => {
  it('property: the focus-ring distance it names brings the task into reach, in the middle of the powers', () => {
    const off = changed(glaze, { layout: { ringDistanceMm: 200 } });
    const row = rowOf(off, 'reach.far');
    expect(row.verdict).toBe('fails');
    const ringDistanceMm = numberAfter(row.remedy, /set the focus ring to/);
    const { planes, reach, ledger } = plan(changed(off, { layout: { ringDistanceMm } }));
    expect((planes[0]!.focalPowerDpt! + planes[2]!.focalPowerDpt!) / 2).toBeCloseTo(
      (reach.powerMinDpt + reach.powerMaxDpt) / 2,
      1,
    );
    expect(ledger.filter(({ key }) => key.startsWith('reach.')).map(({ verdict }) => verdict)).toEqual([
      'meets',
      'meets',
    ]);
  });

  it('property: a spacer where no ring distance helps', () => {
    const tooFar = changed(demoStation('relay-pins'), { parts: { spacer: { lengthMm: 5 } } });
    const row = rowOf(tooFar, 'reach.near');
    expect(row.verdict).toBe('fails');
    const way = /set the focus ring to|use a spacer of/.exec(row.remedy!)![0];
    const valueMm = numberAfter(row.remedy, new RegExp(way));
    const healed = way.startsWith('use')
      ? changed(tooFar, { parts: { spacer: { lengthMm: valueMm } } })
      : changed(tooFar, { layout: { ringDistanceMm: valueMm } });
    expect(rowOf(healed, 'reach.near').verdict).toBe('meets');
    expect(rowOf(healed, 'reach.far').verdict).toBe('meets');
  });

  it('degenerate: a lens with too little range is named, with the range needed', () => {
    const narrow = changed(glaze, { controls: { powerMinDpt: 0, powerMaxDpt: 0.8 } });
    expect(rowOf(narrow, 'reach.near').remedy).toMatch(
      /^the task needs 1\.\d+ dpt of range with tolerances, the station commands 0\.8 dpt/,
    );
  });

  it('property: the exposure it names lifts the signal-to-noise ratio over the need', () => {
    const dark = changed(glaze, { parts: { light: { sensorIrradianceUwPerCm2: 1.5 } }, task: { speedMmPerS: 0 } });
    const row = rowOf(dark, 'light.signalToNoise');
    expect(row.verdict).toBe('fails');
    const exposureMs = numberAfter(row.remedy, /an exposure of/);
    expect(rowOf(changed(dark, { controls: { exposureMs } }), 'light.signalToNoise').verdict).toBe('meets');
  });

  it('property: the exposure it names ends saturation, and motion blur', () => {
    const bright = changed(glaze, { controls: { exposureMs: 3 } });
    for (const key of ['light.saturation', 'motion.blur']) {
      const row = rowOf(bright, key);
      expect(row.verdict).toBe('fails');
      const exposureMs = numberAfter(row.remedy, /set the exposure to/);
      expect(rowOf(changed(bright, { controls: { exposureMs } }), key).verdict).not.toBe('fails');
    }
  });

  it('property: the pixel it names samples the task', () => {
    const coarse = changed(glaze, { parts: { sensor: { pixelPitchUm: 7 } } });
    const row = rowOf(coarse, 'sampling.frequency');
    expect(row.verdict).toBe('fails');
    const pixelPitchUm = Math.floor(numberAfter(row.remedy, /take pixels of/) * 100) / 100;
    expect(rowOf(changed(coarse, { parts: { sensor: { pixelPitchUm } } }), 'sampling.frequency').verdict).toBe('meets');
  });

  it('property: the focal length it names widens the field; a turned camera where that is enough', () => {
    const narrow = changed(glaze, { task: { fieldWidthMm: 160 } });
    const focalLengthMm = Math.floor(numberAfter(rowOf(narrow, 'field.width').remedy, /use a fixed lens of/) * 10) / 10;
    expect(rowOf(changed(narrow, { parts: { fixedLens: { focalLengthMm } } }), 'field.width').verdict).not.toBe(
      'fails',
    );
    const upright = changed(glaze, { task: { fieldWidthMm: 105, fieldHeightMm: 125 } });
    expect(rowOf(upright, 'field.height').remedy).toMatch(/turn the camera by 90°/);
  });

  it('reference: shaped commands shorten a cycle that rings', () => {
    const ringing = changed(demoStation('vial-stopper'), {
      task: { cycleTimeMs: 100 },
      parts: { tunableLens: { dampingRatio: 0.1, naturalFrequencyHz: 85 } },
    });
    expect(rowOf(ringing, 'timing.cycle')).toMatchObject({ verdict: 'fails' });
    // half a ringing period of 85 Hz, ζ 0.1: 5.912 ms (Singer & Seering's shaper, from memory; derived again)
    const shapedMs = numberAfter(rowOf(ringing, 'timing.cycle').remedy, /half a ringing period apart\):/);
    expect(shapedMs).toBeLessThanOrEqual(4 * (5.912 + 1.5 + 0.5 + 13) + 0.5);
  });
});
