/** How a lens with hysteresis was moved: changes of its command, oldest first. */
export interface LensMoves {
  movesDpt: readonly number[];
  /** Before them it stood above where it comes to from below by this part of the hysteresis; null: not known. */
  startPart: number | null;
}

/** A width of the hysteresis, and the part of it by which the lens stood higher at first where nobody knows. */
export interface PlayGuess {
  widthDpt: number;
  startPart: number;
}

/** The true width is below this many times the known one; common practice, no source. */
const widestRatio = 1.3;
/** Lifts this close, in widths, are one. */
const alike = 0.02;

/**
 * How far above the power to which it comes from below a lens stands after some moves.
 *
 * Model    play operator: a move up takes the lift away as far as there is any, a move down adds to it up to the width
 * Returns  dpt, 0 … width.
 * Trust    real lenses have rounder loops; inner loops are the least certain.
 * Source   the elementary play operator (Krasnosel'skii & Pokrovskii, Systems with Hysteresis, 1989; from memory)
 * Checked  closed form: full loop and inner loop, tests/procedures/autofocus/lens-play.test.ts
 */
export function liftDpt({ movesDpt, startPart }: LensMoves, guess: PlayGuess): number {
  let lift = (startPart ?? guess.startPart) * guess.widthDpt;
  for (const moveDpt of movesDpt) lift = Math.max(0, Math.min(guess.widthDpt, lift - moveDpt));
  return lift;
}

/**
 * The side from which a lens surely has taken up all of its play, for a width up to 30 % above the known one; null: neither.
 * Without hysteresis, as far as known: the side it came from last.
 */
export function sideOf(moves: LensMoves, { widthDpt }: { widthDpt: number }): 'below' | 'above' | null {
  if (widthDpt === 0) {
    const part = moves.movesDpt.at(-1) ?? (moves.startPart === null ? 0 : 0.5 - moves.startPart);
    return part === 0 ? null : part > 0 ? 'below' : 'above';
  }
  const widest = widestRatio * widthDpt;
  if (liftDpt(moves, { widthDpt: widest, startPart: 1 }) === 0) return 'below';
  return liftDpt(moves, { widthDpt: widest, startPart: 0 }) === widest ? 'above' : null;
}

/** Moves after which what was before is forgotten, left out. */
export function recentMoves({ movesDpt, startPart }: LensMoves, { widthDpt }: { widthDpt: number }): LensMoves {
  const last = movesDpt.map((moveDpt) => Math.abs(moveDpt) >= widestRatio * widthDpt).lastIndexOf(true);
  if (last < 0) return { movesDpt, startPart };
  return { movesDpt: movesDpt.slice(last + 1), startPart: movesDpt[last]! > 0 ? 0 : 1 };
}

/** Lifts that are possible after some moves, all alike likely. */
export function possibleLiftsDpt(moves: LensMoves, { widthDpt }: { widthDpt: number }): number[] {
  const lifts: number[] = [];
  for (const ratio of [0.75, 1, 1.25]) {
    for (const startPart of moves.startPart === null ? [0, 0.25, 0.5, 0.75, 1] : [moves.startPart]) {
      const lift = liftDpt(moves, { widthDpt: ratio * widthDpt, startPart });
      if (lifts.every((other) => Math.abs(other - lift) > alike * widthDpt)) lifts.push(lift);
    }
  }
  return lifts;
}
