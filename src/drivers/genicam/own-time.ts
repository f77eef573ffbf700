const sliceMs = 50;

/**
 * Calls back after a time in which this process could work, unless it is called off.
 *
 * Model    in slices; one that ends late, because the machine had other things to do, counts as one slice. Whatever came in the
 *          meantime is so seen before the time is up.
 * Returns  the way to call it off.
 */
export function afterOwnTime(durationMs: number, then: () => void): () => void {
  let leftMs = durationMs;
  let timer: NodeJS.Timeout;
  const next = () => {
    const nowMs = Math.min(sliceMs, leftMs);
    leftMs -= nowMs;
    timer = setTimeout(leftMs > 0 ? next : then, nowMs);
  };
  next();
  return () => clearTimeout(timer);
}
