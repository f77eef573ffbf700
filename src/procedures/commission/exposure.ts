/** Level that 99 % of the pixels stay below, as a share of saturation: wanted, and least allowed without adjusting. */
const wantedShare = 0.65;
const leastShare = 0.25;
/** Longest step of one adjustment, and the step down where the true level is clipped. */
const longestStep = 8;
const clippedStep = 1 / 4;

/**
 * The exposure to try next, from one frame; null where this one will do, or no other can be had.
 *
 * Model    linear sensor: grey value less black level ∝ exposure. Bright level: the 99th percentile of the region, which
 *          leaves a few highlights out. Where it is clipped its true value is unknown: a quarter of the exposure next.
 * Trust    as linear as the sensor; companding cameras need another try.
 * Source   level of 60–70 % of saturation: common practice, no source
 */
export function nextExposureMs({
  brightDn,
  blackDn,
  saturationDn,
  exposureMs,
  limits,
}: {
  brightDn: number;
  blackDn: number;
  saturationDn: number;
  exposureMs: number;
  limits: { exposureMinMs: number; exposureMaxMs: number };
}): number | null {
  if (brightDn >= leastShare * saturationDn && brightDn < saturationDn) return null;
  const factor =
    brightDn >= saturationDn
      ? clippedStep
      : Math.min(longestStep, (wantedShare * saturationDn - blackDn) / Math.max(1, brightDn - blackDn));
  const next = Math.min(limits.exposureMaxMs, Math.max(limits.exposureMinMs, exposureMs * factor));
  return Math.abs(next / exposureMs - 1) < 0.02 ? null : next;
}
