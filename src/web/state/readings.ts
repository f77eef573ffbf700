import type { CommissionRecord } from '../../station/index.js';
import { useRehearsal } from './rehearsal-state.js';
import { type PlannedStation, usePlanned } from './station-state.js';

/** The record of the rehearsal that is shown, with the station it belongs to; without one, the station in the page. */
export function useReadings(): PlannedStation & { record: CommissionRecord | null } {
  const rehearsal = useRehearsal(({ current }) => current);
  const { station, plan } = usePlanned();
  return { record: rehearsal?.record ?? null, ...(rehearsal?.rehearsed ?? { station, plan }) };
}
