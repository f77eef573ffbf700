import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const rowOf = (station: Station, key: string) => plan(station).ledger.find((row) => row.key === key)!;
const glaze = demoStation('glaze-line');

/** Does what a joint advice says: f-number, exposure, light. */
function heeded(station: Station, remedy: string): Station {
  const number = (words: RegExp) => {
    const found = new RegExp(`${words.source}([\\d.]+)`).exec(remedy);
    return found ? Number(found[1]) : undefined;
  };
  const fNumber = number(/set f\//) ?? station.layout.fNumber;
  const exposureMs = number(/set the exposure to /) ?? station.controls.exposureMs;
  const times = number(/and give /) ?? 1;
  const light = station.parts.light;
  return changed(station, {
    layout: { fNumber },
    controls: { exposureMs },
    parts: {
      light: {
        sensorIrradianceUwPerCm2: light.sensorIrradianceUwPerCm2! * times,
        atFNumber: light.atFNumber ?? station.layout.fNumber,
      },
    },
  });
}

const keys = ['light.saturation', 'light.signalToNoise', 'motion.blur'];

describe('joint advice', () => {
  it('property: too dark and too fast at once: both rows say the same, name both limits, and heeding it meets both', () => {
    const dim = changed(glaze, {
      task: { speedMmPerS: 2000 },
      parts: { light: { sensorIrradianceUwPerCm2: 1 } },
    });
    const [noise, motion] = [rowOf(dim, 'light.signalToNoise'), rowOf(dim, 'motion.blur')];
    expect([noise.verdict, motion.verdict]).toEqual(['fails', 'fails']);
    expect(noise.remedy).toBe(motion.remedy);
    expect(noise.remedy).toMatch(/^limits collide: signal-to-noise ratio needs an exposure of .* motion blur allows /);
    const healed = heeded(dim, noise.remedy!);
    for (const key of keys) expect(rowOf(healed, key).verdict).toBe('meets');
    expect(plan(dim).reasons.filter(({ remedy }) => remedy === noise.remedy).length).toBeGreaterThanOrEqual(2);
  });

  it('property: too bright and too fast: one shorter exposure does both', () => {
    const bright = changed(glaze, { controls: { exposureMs: 3 } });
    const [saturation, motion] = [rowOf(bright, 'light.saturation'), rowOf(bright, 'motion.blur')];
    expect(saturation.remedy).toBe(motion.remedy);
    expect(motion.remedy).toMatch(/^together: set the exposure to /);
    const healed = heeded(bright, motion.remedy!);
    for (const key of keys) expect(rowOf(healed, key).verdict).toBe('meets');
  });

  it('property: focus asks for a smaller aperture, noise for a wider one: f-number, exposure and light that do both', () => {
    const sloppy = changed(glaze, {
      task: { signalToNoiseNeeded: 20 },
      parts: { tunableLens: { repeatabilityDpt: 0.085 }, light: { sensorIrradianceUwPerCm2: 10 } },
    });
    const row = rowOf(sloppy, 'focus.far.budget');
    expect(row.verdict).not.toBe('meets');
    expect(rowOf(sloppy, 'light.signalToNoise').verdict).toBe('fails');
    expect(row.remedy).toMatch(/set f\/[\d.]+, set the exposure to/);
    const healed = heeded(sloppy, row.remedy!);
    expect(healed.layout.fNumber).toBeGreaterThan(sloppy.layout.fNumber);
    for (const key of keys) expect(rowOf(healed, key).verdict).toBe('meets');
    // The longer exposure smears a little more, which takes some of the depth that the aperture gave.
    expect(rowOf(healed, 'focus.far.budget').verdict).not.toBe('fails');
  });

  it('degenerate: white saturates before the ratio is reached: so many frames are averaged that it is', () => {
    const shallow = changed(glaze, {
      task: { signalToNoiseNeeded: 40, speedMmPerS: 700 },
      parts: { sensor: { fullWellE: 9000 } },
      controls: { exposureMs: 1 },
    });
    const row = rowOf(shallow, 'light.signalToNoise');
    expect(row.remedy).toMatch(/average \d+ frames, or take a sensor with a larger full well/);
    const healed = heeded(shallow, row.remedy!.replace('give', 'and give'));
    for (const key of ['light.saturation', 'motion.blur']) expect(rowOf(healed, key).verdict).toBe('meets');
    const frames = Number(/average (\d+) frames/.exec(row.remedy!)![1]);
    expect(Math.sqrt(frames) * rowOf(healed, 'light.signalToNoise').predicted!.value).toBeGreaterThan(40);
  });

  it('degenerate: rows that do not contradict keep their own remedies', () => {
    const dark = changed(glaze, { parts: { light: { sensorIrradianceUwPerCm2: 1.5 } }, task: { speedMmPerS: 0 } });
    expect(rowOf(dark, 'light.signalToNoise').remedy).toMatch(/^give it /);
    expect(JSON.stringify(plan(dark))).not.toContain('wishes');
  });
});
