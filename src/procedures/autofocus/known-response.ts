import type { CameraCapabilities } from '../../devices/index.js';
import { middleDistanceMm, type Station } from '../../station/index.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { settlingWaitMs } from '../sweep/settling-wait.js';
import type { LensResponse } from './run-search.js';

/** Share of the depth-of-field half-width that may be left of a move when a frame begins. */
const settledShare = 0.1;
/** Waited after a move of a lens of which nothing is known; common practice, no source. */
const unknownSettlingMs = 100;

/**
 * How a station's lens answers, by its datasheet.
 *
 * Model    second-order step response, until a tenth of the predicted depth-of-field half-width in the middle of the task's
 *          range is left
 */
export function stationLensResponse(station: Station): LensResponse {
  const { powerMinDpt, powerMaxDpt, hysteresisDpt } = station.parts.tunableLens;
  const toleranceDpt = settledShare * focusHalfWidthDpt({ station, workingDistanceMm: middleDistanceMm(station) });
  return {
    hysteresisDpt,
    settlingMs: ({ fromDpt, toDpt }) =>
      settlingWaitMs({
        station,
        stepDpt: fromDpt === null ? powerMaxDpt - powerMinDpt : toDpt - fromDpt,
        toleranceDpt,
      }),
  };
}

/** How a lens answers of which only the device itself tells: its settling time after every move, else 100 ms. */
export function deviceLensResponse({ settlingMs, powersDpt }: CameraCapabilities): LensResponse {
  const waitMs = powersDpt === null ? (settlingMs ?? unknownSettlingMs) : 0;
  return { hysteresisDpt: 0, settlingMs: ({ fromDpt, toDpt }) => (fromDpt === toDpt ? 0 : waitMs) };
}
