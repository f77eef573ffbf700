/** When a run began, as local time HH:MM:SS; its id ends in that time as UTC: `…-20260131-142530`. */
export function clockOfRun(runId: string): string {
  const [, y, mo, d, h, mi, s] = /-(\d{4})(\d\d)(\d\d)-(\d\d)(\d\d)(\d\d)(-\d+)?$/.exec(runId) ?? [];
  // This language's clock counts 24 hours, from 00:00:00.
  return y ? new Date(`${y}-${mo}-${d}T${h}:${mi}:${s}Z`).toLocaleTimeString('en-GB') : '';
}
