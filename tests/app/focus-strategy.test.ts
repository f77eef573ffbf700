import { describe, expect, it } from 'vitest';
import { loadStation, runFocusStrategy } from '../../src/app/index.js';
import { focusStrategyFigure } from '../../src/report/index.js';
import { focuswright } from '../cli/run-cli.js';

describe('focus strategy on the simulated station', () => {
  it('recovery: the Fibonacci search is in focus on most scenes in good light; the same seed gives the same record', async () => {
    const loaded = await loadStation('glaze-line');
    const run = () => runFocusStrategy(loaded, { sceneCount: 6, seed: 3, methods: ['fibonacci'] });
    const record = await run();
    expect(await run()).toEqual(record);
    const [score] = record.methods;
    expect(record.sceneCount).toBe(6);
    expect(score!.rightCount).toBeGreaterThanOrEqual(4);
    expect(score!.medianFrameCount).toBeGreaterThan(10);
    const { title, svg } = focusStrategyFigure({ strategy: record }, { widthPx: 700, heightPx: 400 });
    expect(title).toMatch(/^fibonacci is right in/);
    expect(svg).toContain('predicted bound');
  });

  it('degenerate: without scenes the prediction alone, as text and as JSON', async () => {
    const { stdout, code } = await focuswright(['strategy', 'glaze-line', '--scenes', '0']);
    expect([code, stdout]).toEqual([0, expect.stringContaining('prediction alone')]);
    const { stdout: json } = await focuswright(['strategy', 'glaze-line', '--scenes', '0', '--json']);
    expect(JSON.parse(json)).toMatchObject({ kind: 'focus-strategy', methods: [], prediction: { plane: 'far' } });
  });

  it('refuses: an unknown search with exit code 2', async () => {
    expect((await focuswright(['strategy', 'glaze-line', '--methods', 'guess'])).code).toBe(2);
  });
});
