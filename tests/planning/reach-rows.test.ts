import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import { powerTolerance } from '../../src/planning/power-tolerance.js';
import { layoutModelOf, type Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

/** The pottery line with nothing uncertain but the lens's offset and its drift: 18 … 38 °C about 25 °C at 0.004 dpt/°C. */
const offsetAlone = changed(demoStation('glaze-line'), {
  parts: {
    fixedLens: { tolerance: { focalLengthMm: 0, ringDistanceRelative: 0 } },
    tunableLens: { tolerance: { offsetDpt: 0.05, gainRelative: 0 } },
    spacer: { tolerance: { lengthMm: 0 } },
  },
});
const driftDpt = 0.004 * (38 - 25);

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const nearDpt = plan(offsetAlone).planes.find(({ workingDistanceMm }) => workingDistanceMm === 340)!.neededPowerDpt!;
const farDpt = plan(offsetAlone).planes.find(({ workingDistanceMm }) => workingDistanceMm === 545)!.neededPowerDpt!;

const toleranceOf = (station: Station, powerDpt: number) =>
  powerTolerance({ station, model: layoutModelOf(station), workingDistanceMm: 340, powerDpt });

describe('powerTolerance', () => {
  it('closed form: kept free are 2 σ of the build and the largest drift', () => {
    const { buildStdDpt, neededDpt, driftDpt: drift } = toleranceOf(offsetAlone, nearDpt);
    expect(buildStdDpt).toBeCloseTo(0.05, 12);
    expect(drift).toBeCloseTo(driftDpt, 12);
    expect(neededDpt).toBeCloseTo(2 * 0.05 + driftDpt, 12);
  });

  it('closed form: a gain error is worth gain × power, in quadrature with the offset', () => {
    const withGain = changed(offsetAlone, {
      parts: { tunableLens: { tolerance: { offsetDpt: 0.03, gainRelative: 0.04 } } },
    });
    expect(nearDpt).toBeGreaterThan(0.5);
    expect(toleranceOf(withGain, nearDpt).buildStdDpt).toBeCloseTo(Math.hypot(0.03, 0.04 * nearDpt), 12);
  });
});

describe('reach rows of the plan', () => {
  const needed = 2 * 0.05 + driftDpt;
  const rowAt = (key: string, limits: object) =>
    plan(changed(offsetAlone, { parts: { tunableLens: limits } })).ledger.find((row) => row.key === key)!;

  it.each([
    [needed + 1e-3, 'meets'],
    [needed - 1e-3, 'marginal'],
    [1e-3, 'marginal'],
    [-1e-3, 'fails'],
  ])('closed form: %d dpt to spare of 2 · 0.05 + 0.052 dpt needed: %s', (spareDpt, verdict) => {
    expect(rowAt('reach.near', { powerMaxDpt: nearDpt + spareDpt }).verdict).toBe(verdict);
    expect(rowAt('reach.far', { powerMinDpt: farDpt - spareDpt }).verdict).toBe(verdict);
  });

  it('property: a marginal row says what is needed and how to heal it', () => {
    const row = rowAt('reach.near', { powerMaxDpt: nearDpt + 0.1 });
    expect(row.reason).toMatch(/^Only just: .*0\.1 dpt inside the limit .*tolerances and temperature need 0\.152 dpt/);
    expect(row.remedy).not.toBeNull();
  });

  it('closed form: behind an image inside the layout the reach ends at infinity too, not at the front', () => {
    // Ring at 560 mm and a gap of 2000 mm: 1/s = P − 1/1.44 m, less 6 mm from plane to front; below 0.694 dpt beyond infinity.
    const { reach } = plan(changed(offsetAlone, { layout: { gapMm: 2000 } }));
    expect(reach.nearMm).toBeCloseTo(1000 / (3 - 1000 / 1440) - 6, 6);
    expect(reach).toMatchObject({ farMm: null, farIsInfinite: true });
  });
});
