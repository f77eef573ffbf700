import {
  type ShaperImpulse,
  settlingTimeOfCommandsMs,
  shapedStep,
  stepSettlingTimeMs,
  zeroVibrationDerivativeShaper,
  zeroVibrationShaper,
} from '../optics/index.js';
import type { Station } from '../station/index.js';

/** A move of the lens, and how near to its end counts as there. */
export interface LensMove {
  fromDpt: number;
  toDpt: number;
  toleranceDpt: number;
}

/** Settling of one move by plain and by shaped commands; null: never, or nothing to shape. */
export interface MoveSettling {
  plainMs: number | null;
  zeroVibrationMs: number | null;
  zeroVibrationDerivativeMs: number | null;
}

/** The lens counts as settled within this share of the plane's half-width of depth of field. */
const settledShareOfHalfWidth = 0.25;

/** How near to its target the lens must come for a plane: a quarter of the half-width, never finer than it can be told. */
export function settledToleranceDpt({ parts }: Station, allowedHalfWidthDpt: number): number {
  return Math.max(settledShareOfHalfWidth * allowedHalfWidthDpt, parts.tunableLens.controlStepDpt, 1e-4);
}

/**
 * Time until a move of the lens stays within its tolerance for good.
 *
 * Model    second-order step response with dead time, exact last crossing; shaped: the partial steps of Singer and
 *          Seering's shapers made for the lens as its datasheet describes it
 * Returns  ms from the command; 0 where the move is smaller than the tolerance. Shaped times are null from a damping ratio
 *          of 1 on: nothing rings.
 * Trust    a natural frequency off by 10 % leaves 14 % of the ring (ZV) or 2 % (ZVD).
 * Checked  reference and closed form: tests/planning/timing.test.ts
 */
export function moveSettling(station: Station, move: LensMove): MoveSettling {
  const { tunableLens } = station.parts;
  const fraction = move.toleranceDpt / Math.abs(move.toDpt - move.fromDpt);
  const rings = tunableLens.dampingRatio < 1;
  if (!(fraction < 1)) {
    const shapedMs = rings ? 0 : null;
    return { plainMs: 0, zeroVibrationMs: shapedMs, zeroVibrationDerivativeMs: shapedMs };
  }
  const shapedMs = (shaper: typeof zeroVibrationShaper) =>
    rings ? settlingByImpulsesMs(station, move, shaper(tunableLens)) : null;
  return {
    plainMs: plainSettlingMs(station, move),
    zeroVibrationMs: shapedMs(zeroVibrationShaper),
    zeroVibrationDerivativeMs: shapedMs(zeroVibrationDerivativeShaper),
  };
}

/** Settling of one plain step alone; null where the lens never settles. */
export function plainSettlingMs(
  { parts: { tunableLens } }: Station,
  { fromDpt, toDpt, toleranceDpt }: LensMove,
): number | null {
  const fraction = toleranceDpt / Math.abs(toDpt - fromDpt);
  return fraction < 1 ? stepSettlingTimeMs({ fraction, ...tunableLens }) : 0;
}

function settlingByImpulsesMs(
  { parts: { tunableLens } }: Station,
  { fromDpt, toDpt, toleranceDpt }: LensMove,
  impulses: readonly ShaperImpulse[],
): number | null {
  const commands = shapedStep({ startDpt: fromDpt, targetDpt: toDpt, startMs: 0, impulses });
  return settlingTimeOfCommandsMs({ startDpt: fromDpt, commands, toleranceDpt, ...tunableLens });
}

/** Settling, exposure and readout, no faster than the frame rate allows; null where the lens never settles. */
export function frameAfterMoveMs({ parts, controls }: Station, settlingMs: number | null): number | null {
  if (settlingMs === null) return null;
  return Math.max(settlingMs + controls.exposureMs + parts.sensor.readoutMs, 1000 / parts.sensor.frameRateHz);
}
