/** Where the widest gap between powers is looked into, and how far that is from them: its middle, or a limit. */
export function widestGap(
  powersDpt: readonly number[],
  { powerMinDpt, powerMaxDpt }: { powerMinDpt: number; powerMaxDpt: number },
): { toDpt: number; gapDpt: number } {
  const inOrder = [...powersDpt].sort((a, b) => a - b);
  const gaps = [
    { toDpt: powerMinDpt, gapDpt: inOrder[0]! - powerMinDpt },
    { toDpt: powerMaxDpt, gapDpt: powerMaxDpt - inOrder.at(-1)! },
    ...inOrder.slice(1).map((dpt, i) => ({ toDpt: (dpt + inOrder[i]!) / 2, gapDpt: (dpt - inOrder[i]!) / 2 })),
  ];
  return gaps.sort((a, b) => b.gapDpt - a.gapDpt)[0]!;
}
