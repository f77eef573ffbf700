import { stepSettlingTimeMs } from '../../src/optics/index.js';
import type { LensResponse } from '../../src/procedures/index.js';
import type { FocusCase } from './focus-case.js';

/** Share of the depth-of-field half-width that may be left of a move when a frame begins. */
const settledShare = 0.1;

/** How the lens of a case answers, by its datasheet: what a search may know. */
export function lensResponseOf({ station, halfWidthDpt }: FocusCase): LensResponse {
  const { powerMinDpt, powerMaxDpt, hysteresisDpt, ...lens } = station.parts.tunableLens;
  return {
    hysteresisDpt,
    settlingMs({ fromDpt, toDpt }) {
      const stepDpt = fromDpt === null ? powerMaxDpt - powerMinDpt : Math.abs(toDpt - fromDpt);
      const fraction = (settledShare * halfWidthDpt) / stepDpt;
      return fraction >= 1 ? lens.deadTimeMs : stepSettlingTimeMs({ fraction, ...lens })!;
    },
  };
}
