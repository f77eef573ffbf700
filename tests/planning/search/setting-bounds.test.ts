import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SearchSpace } from '../../../src/planning/index.js';
import { stationOfCombination } from '../../../src/planning/search/combination.js';
import { marginsOf } from '../../../src/planning/search/margins.js';
import { pairModel, pairOpticsOf } from '../../../src/planning/search/pair-optics.js';
import { placedSettings } from '../../../src/planning/search/placed-settings.js';
import { contrastStagesOf, focusErrorsOf } from '../../../src/planning/search/search-pair.js';
import { fNumbersOf, placementsOf, ringDistancesOf } from '../../../src/planning/search/search-space.js';
import { settingBounds } from '../../../src/planning/search/setting-bounds.js';
import { smallSpace } from './small-space.js';

const names = ['cornerLight', 'contrast', 'focus', 'signalToNoise'] as const;

/** Every setting of a small space: [requirement, bound, margin of the full prediction]. */
function boundsAndMargins(space: SearchSpace): [string, number, number][] {
  const { fixedLenses, spacers } = space.parts;
  const listed: [string, number, number][] = [];
  for (const [fixedLensIndex, fixedLens] of fixedLenses.entries()) {
    for (const { tunableLensAt, gapsMm } of placementsOf(fixedLens, space.parts.tunableLenses[0]!)) {
      for (const gapMm of gapsMm.slice(0, 1)) {
        const of = { sensorIndex: 0, fixedLensIndex, tunableLensIndex: 0, tunableLensAt, gapMm };
        const plain = { ...of, ringDistanceMm: null, exposureMs: 1, middleFNumber: space.light.workingFNumber };
        const station = stationOfCombination(space, {
          ...plain,
          tunableLensAt: 'object-side',
          spacerIndex: 0,
          fNumber: fixedLens.fNumberMin,
        });
        const optics = pairOpticsOf({ station, model: pairModel(station, gapMm, tunableLensAt) });
        const placed = placedSettings({
          station,
          optics,
          spacers: spacers.map((spacer, spacerIndex) => ({ spacer, spacerIndex })),
          rings: ringDistancesOf(fixedLens, space.ringCount),
        });
        const stages = contrastStagesOf(station);
        const focusErrorsDpt = focusErrorsOf(station, optics);
        for (const setting of placed.settings) {
          if (tunableLensAt === 'image-side' && gapMm >= setting.sensorMm) continue;
          for (const fNumber of fNumbersOf(fixedLens)) {
            const answer = settingBounds(
              { space, station, optics, setting, fNumber, stages, focusErrorsDpt },
              Number.NEGATIVE_INFINITY,
            );
            if (answer.kind === 'missed') continue;
            const { exposureMs, middleFNumber, bounds } = answer;
            const { spacerIndex, ringDistanceMm } = setting;
            const combination = { ...of, spacerIndex, ringDistanceMm, fNumber, exposureMs, middleFNumber };
            const margins = marginsOf(stationOfCombination(space, combination));
            for (const name of names) listed.push([name, bounds[name], margins[name]]);
            listed.push(
              ['reachNear', setting.reachNear, margins.reachNear],
              ['reachFar', setting.reachFar, margins.reachFar],
            );
            const last = Math.min(...names.map((name) => bounds[name]));
            if (bounds.cycle < last) listed.push(['cycle', bounds.cycle, margins.cycle]);
          }
        }
      }
    }
  }
  return listed;
}

describe('bounds of a setting', () => {
  const seen: [string, number, number][] = [];
  it('property: no bound lies below the margin of the full prediction', () => {
    fc.assert(
      fc.property(smallSpace, (space) => {
        for (const [name, bound, margin] of boundsAndMargins(space)) {
          seen.push([name, bound, margin]);
          if (margin > -1000) expect(bound, name).toBeGreaterThanOrEqual(margin - 1e-6 * (1 + Math.abs(margin)));
        }
      }),
      { numRuns: 8, seed: 6 },
    );
  }, 120_000);

  it('property: nor far above it, where the light has one wavelength and the margin counts', () => {
    for (const name of ['reachNear', 'reachFar', 'cornerLight', 'signalToNoise']) {
      const counted = seen.filter(([which, , margin]) => which === name && margin > -0.5 && margin < 2);
      expect(counted.length).toBeGreaterThan(10);
      for (const [, bound, margin] of counted) expect(bound - margin, name).toBeLessThan(0.01 * (1 + Math.abs(margin)));
    }
    expect(seen.filter(([name, , margin]) => name === 'focus' && margin > 0).length).toBeGreaterThan(10);
  });
});
