/**
 * Hysteresis as play: the output follows the input with a dead band between rising and falling.
 *
 * Model    play operator of full width w: out = clamp(out, in − w/2, in + w/2)
 * Returns  the next output; below the input by w/2 after rising, above it by w/2 after falling.
 * Source   the elementary play operator (Krasnosel'skii & Pokrovskii, Systems with Hysteresis, 1989; from memory)
 * Checked  closed form: full loop and inner loop, tests/twin/lens/play-operator.test.ts
 */
export function nextPlayDpt({
  previousDpt,
  inputDpt,
  widthDpt,
}: {
  previousDpt: number;
  inputDpt: number;
  widthDpt: number;
}): number {
  return Math.max(inputDpt - widthDpt / 2, Math.min(inputDpt + widthDpt / 2, previousDpt));
}
