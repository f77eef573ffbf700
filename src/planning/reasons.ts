import type { PlanRecord } from '../station/index.js';
import type { PlanRow } from './verdict.js';

const order = { fails: 0, unknown: 1, marginal: 2, meets: 3 };

/** The rows that decide: all that are not met, worst first; where all are met, the one with the least to spare. */
export function decidingRows(rows: readonly PlanRow[]): PlanRecord['reasons'] {
  const sorted = [...rows].sort((a, b) => order[a.verdict] - order[b.verdict] || a.spareFraction - b.spareFraction);
  const open = sorted.filter(({ verdict }) => verdict !== 'meets');
  return (open.length > 0 ? open : sorted.slice(0, 1)).map(({ key, verdict, reason, remedy }) => ({
    key,
    verdict,
    reason,
    remedy,
  }));
}
