/**
 * Slopes of a model's numbers with one of its parameters, by differences inside what can be built.
 *
 * Formula  (m(p + h) − m(p − h)) / 2h; where one side cannot be built, the other and p itself; where neither can, half of h
 * Returns  one slope per number of the model; all 0 where nothing beside p can be built.
 * Throws   RangeError where p itself cannot be built.
 */
export function slopeOf({
  model,
  at,
  index,
  half,
}: {
  model: (parameters: readonly number[]) => readonly number[] | null;
  at: readonly number[];
  /** Of the parameter. */
  index: number;
  /** h, in the parameter's unit. */
  half: number;
}): number[] {
  const centre = model(at);
  if (!centre) throw new RangeError('at cannot be built; allowed: parameters that the model can predict from');
  for (let h = half; h > half / 2 ** 20; h /= 2) {
    const above = model(at.map((p, k) => (k === index ? p + h : p)));
    const below = model(at.map((p, k) => (k === index ? p - h : p)));
    if (above && below) return above.map((value, i) => (value - below[i]!) / (2 * h));
    if (above) return above.map((value, i) => (value - centre[i]!) / h);
    if (below) return below.map((value, i) => (centre[i]! - value) / h);
  }
  return centre.map(() => 0);
}
