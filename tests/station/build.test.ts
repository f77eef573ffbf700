import { describe, expect, it } from 'vitest';
import { focalPowerAt } from '../../src/optics/index.js';
import { buildTolerancesOf, layoutAsBuilt, layoutModelOf, nominalBuild } from '../../src/station/index.js';
import { changed } from '../planning/changed-station.js';
import { demoStation } from './demo-stations.js';

const glaze = demoStation('glaze-line');
const names = ['glaze-line', 'vial-stopper', 'relay-pins'];

describe('build', () => {
  it.each(names)('degenerate: %s built as its file says is the layout as written', (name) => {
    const station = demoStation(name);
    expect(layoutAsBuilt(station, nominalBuild(station))).toEqual(layoutModelOf(station));
  });

  it('closed form: a gap and a front off by a length, object side', () => {
    // P = 1/s_o − 1/(s_r − t): ring 560 mm, gap 22 mm, 6 mm from front to plane (in m)
    const build = { ...nominalBuild(glaze), gapMm: 24, frontOffsetMm: -1, ringDistanceRelative: 0.05 };
    const power = focalPowerAt({ model: layoutAsBuilt(glaze, build), workingDistanceMm: 400 });
    if (power.kind === 'none') throw new Error(power.reason);
    expect(power.focalPowerDpt).toBeCloseTo(1000 / (400 + 5) - 1000 / (560 * 1.05 - 24), 9);
  });

  it('closed form: an f-number off by a share', () => {
    const model = layoutAsBuilt(glaze, { ...nominalBuild(glaze), fNumberRelative: -0.1 });
    expect(model.fixedLens.fNumber).toBeCloseTo(3.6, 12);
  });

  it('property: each value has a tolerance, 0 where it cannot be wrong', () => {
    const byName = (station: typeof glaze) =>
      Object.fromEntries(buildTolerancesOf(station).map(({ name, std }) => [name, std]));
    expect(Object.keys(byName(glaze)).sort()).toEqual(Object.keys(nominalBuild(glaze)).sort());
    expect(byName(glaze)).toMatchObject({ ringDistanceRelative: 0.02, gapMm: 0.1, frontOffsetMm: 0.1 });
    expect(byName(changed(glaze, { layout: { ringDistanceMm: null } })).ringDistanceRelative).toBe(0);
  });
});
