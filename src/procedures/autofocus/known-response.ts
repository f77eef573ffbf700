import type { CameraCapabilities } from '../../devices/index.js';
import {
  type PowerCommand,
  responseToCommands,
  settlingTimeOfCommandsMs,
  shapedStep,
  zeroVibrationShaper,
} from '../../optics/index.js';
import { middleDistanceMm, type Station } from '../../station/index.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { settlingWaitMs } from '../sweep/settling-wait.js';
import type { LensResponse, ShapedMove } from './run-search.js';

/** Share of the depth-of-field half-width that may be left of a move when a frame begins. */
const settledShare = 0.1;
/** Share of a step below which a lens counts as at rest. */
const atRestShare = 1e-4;
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
    settlingMs: ({ fromDpt, toDpt, toleranceDpt: allowedDpt = toleranceDpt }) =>
      settlingWaitMs({
        station,
        stepDpt: fromDpt === null ? powerMaxDpt - powerMinDpt : toDpt - fromDpt,
        toleranceDpt: allowedDpt,
      }),
    powersDpt: (move) => lensPowersDpt({ ...station.parts.tunableLens, ...move }),
    shaped: ({ fromDpt, toDpt, toleranceDpt: allowedDpt = toleranceDpt }) =>
      shapedMove({
        ...station.parts.tunableLens,
        fromDpt,
        toDpt,
        toleranceDpt: allowedDpt,
      }),
  };
}

/** How far the natural frequency may be off its datasheet, relative; common practice, no source. */
const frequencyRatios = [0.95, 1, 1.05];
/** Time that shaping must save before a second command is worth its trouble. */
const leastSavedMs = 1;

/**
 * A move in the two steps of a zero-vibration shaper, where it settles sooner than one step even with a natural frequency
 * 5 % off either way.
 *
 * Model    second-order step response with dead time; zeroVibrationShaper made for the datasheet's frequency
 * Returns  null where one step is as good: well damped, or the tolerance is wide.
 * Checked  closed form and property: tests/procedures/autofocus/shaped-move.test.ts
 */
export function shapedMove({
  fromDpt,
  toDpt,
  toleranceDpt,
  naturalFrequencyHz,
  dampingRatio,
  deadTimeMs,
}: {
  fromDpt: number;
  toDpt: number;
  toleranceDpt: number;
  naturalFrequencyHz: number;
  dampingRatio: number;
  deadTimeMs: number;
}): ShapedMove | null {
  if (dampingRatio >= 1 || Math.abs(toDpt - fromDpt) <= toleranceDpt) return null;
  const impulses = zeroVibrationShaper({ naturalFrequencyHz, dampingRatio });
  const shaped = shapedStep({ startDpt: fromDpt, targetDpt: toDpt, startMs: 0, impulses });
  const slowest = (commands: readonly PowerCommand[]): number =>
    Math.max(
      ...frequencyRatios.map(
        (ratio) =>
          settlingTimeOfCommandsMs({
            startDpt: fromDpt,
            commands,
            toleranceDpt,
            deadTimeMs,
            dampingRatio,
            naturalFrequencyHz: ratio * naturalFrequencyHz,
          }) ?? Number.POSITIVE_INFINITY,
      ),
    );
  const settlingMs = slowest(shaped);
  if (settlingMs > slowest([{ atMs: 0, targetDpt: toDpt }]) - leastSavedMs) return null;
  return { firstDpt: shaped[0]!.targetDpt, gapMs: shaped[1]!.atMs, settlingMs };
}

const exposureParts = 8;

/**
 * Powers of a lens in the middles of equal parts of a time after a command.
 *
 * Model    second-order step response from rest
 * Returns  the commanded power alone once the lens is as good as there.
 */
export function lensPowersDpt({
  fromDpt,
  toDpt,
  shape = null,
  sinceMs,
  untilMs,
  naturalFrequencyHz,
  dampingRatio,
  deadTimeMs,
}: {
  fromDpt: number;
  toDpt: number;
  shape?: ShapedMove | null;
  sinceMs: number;
  untilMs: number;
  naturalFrequencyHz: number;
  dampingRatio: number;
  deadTimeMs: number;
}): readonly number[] {
  const middles = Array.from(
    { length: exposureParts },
    (_, i) => sinceMs + ((i + 0.5) * (untilMs - sinceMs)) / exposureParts,
  );
  const powers = responseToCommands({
    startDpt: fromDpt,
    commands: shape
      ? [
          { atMs: 0, targetDpt: shape.firstDpt },
          { atMs: shape.gapMs, targetDpt: toDpt },
        ]
      : [{ atMs: 0, targetDpt: toDpt }],
    sampleTimesMs: middles,
    deadTimeMs,
    naturalFrequencyHz,
    dampingRatio,
  });
  const farthest = powers.reduce((far, dpt) => Math.max(far, Math.abs(dpt - toDpt)), 0);
  return farthest <= atRestShare * Math.abs(toDpt - fromDpt) ? [toDpt] : [...powers];
}

/** How a lens answers of which only the device itself tells: its settling time after every move, else 100 ms. */
export function deviceLensResponse({ settlingMs, powersDpt }: CameraCapabilities): LensResponse {
  const waitMs = powersDpt === null ? (settlingMs ?? unknownSettlingMs) : 0;
  return { hysteresisDpt: 0, settlingMs: ({ fromDpt, toDpt }) => (fromDpt === toDpt ? 0 : waitMs) };
}
