import { describe, expect, it } from 'vitest';

/** The built program: threads of a stack are started from its files. */
const built = (await import(
  new URL('../../dist/app/index.js', import.meta.url).href
)) as typeof import('../../src/app/index.js');

/** Handles of worker threads that keep this process alive. */
const threadCount = () => process.getActiveResourcesInfo().filter((name) => name === 'MessagePort').length;

async function stacked(cancelWhile: 'measuring' | 'fitting' | 'fusing' | 'before' | null, threads: number) {
  const sweep = await built.openSweepFolder('references/height');
  const { station } = await built.loadStation('references/height/station.yaml');
  const { distanceOf } = await built.distancesOfSweep({ rows: sweep.rows, station, calibrationFile: null });
  const controller = new AbortController();
  if (cancelWhile === 'before') controller.abort();
  const seen: string[] = [];
  const most = { threads: 0 };
  const outcome = built.runStack({
    sweep,
    station,
    distanceOf,
    blockPx: 8,
    threadCount: threads,
    onProgress: ({ doing }) => {
      seen.push(doing);
      most.threads = Math.max(most.threads, threadCount());
      if (doing === cancelWhile) controller.abort();
    },
    signal: controller.signal,
  });
  return { outcome, seen, most };
}

describe('a stack in threads that is cancelled', () => {
  it.each([
    ['before', 2],
    ['measuring', 2],
    ['fitting', 2],
    ['fusing', 2],
    ['measuring', 3],
    ['measuring', 1],
    ['fitting', 1],
  ] as const)(
    'property: cancelled while %s, in %i threads: says so, goes no further, and leaves no thread',
    async (when, threads) => {
      const before = threadCount();
      const { outcome, seen } = await stacked(when, threads);
      await expect(outcome).rejects.toMatchObject({ code: 'cancelled' });
      const later = { before: 'measuring', measuring: 'fitting', fitting: 'fusing', fusing: null }[when];
      if (later) expect(seen).not.toContain(later);
      await expect.poll(threadCount).toBeLessThanOrEqual(before);
    },
  );

  it('property: the same sweep that is not cancelled ends with heights, and its threads too', async () => {
    const before = threadCount();
    const { outcome, most } = await stacked(null, 2);
    expect(await outcome).toMatchObject({ kind: 'stacked', frames: 24 });
    expect(most.threads).toBeGreaterThan(before);
    await expect.poll(threadCount).toBeLessThanOrEqual(before);
  });
});
