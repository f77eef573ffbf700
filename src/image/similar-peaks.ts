/**
 * Positions of the peaks of a curve that rival its highest one, the highest first.
 *
 * Model    a local maximum counts if it stands at least half as high above the baseline as the highest one and if the
 *          deepest dip between it and any higher peak is at least a quarter of the highest one's height and four times the
 *          scatter of the values
 * Input    positions ascending
 */
export function similarPeaks({
  positions,
  values,
  scatter,
  baseline,
}: {
  positions: readonly number[];
  values: readonly number[];
  scatter: number;
  baseline: number;
}): number[] {
  const height = Math.max(...values) - baseline;
  const candidates = values
    .map((value, i) => ({ value, i }))
    .filter(({ value, i }) => value >= (values[i - 1] ?? -Infinity) && value > (values[i + 1] ?? -Infinity))
    .filter(({ value }) => value - baseline >= height / 2)
    .sort((a, b) => b.value - a.value);
  const kept: { value: number; i: number }[] = [];
  for (const candidate of candidates) {
    const setApart = kept.every((higher) => {
      const between = values.slice(Math.min(candidate.i, higher.i), Math.max(candidate.i, higher.i) + 1);
      const dip = candidate.value - Math.min(...between);
      return dip >= height / 4 && dip >= 4 * scatter;
    });
    if (setApart) kept.push(candidate);
  }
  return kept.map(({ i }) => positions[i]!);
}
