import { describe, expect, it } from 'vitest';
import { responseToCommands } from '../../../src/optics/index.js';
import { shapedMove } from '../../../src/procedures/autofocus/known-response.js';
import { classicMethod, runFocusSearch, stationLensResponse } from '../../../src/procedures/index.js';
import { createSimulatedBench } from '../../../src/twin/index.js';
import { withLens } from '../../twin/small-station.js';

const lens = { naturalFrequencyHz: 60, dampingRatio: 0.2, deadTimeMs: 2 };
const move = { fromDpt: -1, toDpt: 2, toleranceDpt: 0.02 };

describe('moves in two steps', () => {
  it('closed form: half a ringing period apart, in the ratio 1 : K, settled when the second has acted', () => {
    const shape = shapedMove({ ...lens, ...move })!;
    const root = Math.sqrt(1 - lens.dampingRatio ** 2);
    const decay = Math.exp((-Math.PI * lens.dampingRatio) / root);
    expect(shape.gapMs).toBeCloseTo(1000 / (2 * lens.naturalFrequencyHz * root), 9);
    expect(shape.firstDpt).toBeCloseTo(-1 + 3 / (1 + decay), 12);
    expect(shape.settlingMs).toBeGreaterThan(shape.gapMs + lens.deadTimeMs - 3);
    // A plain step: e^(−ζωt) falls to 0.02/3 only after 66 ms.
    expect(shape.settlingMs).toBeLessThan(45);
  });

  it('property: within the tolerance from the settling time on, with a natural frequency 5 % off either way', () => {
    for (const dampingRatio of [0.05, 0.2, 0.35]) {
      const shape = shapedMove({ ...lens, ...move, dampingRatio })!;
      for (const ratio of [0.95, 1, 1.05]) {
        const powers = responseToCommands({
          startDpt: move.fromDpt,
          commands: [
            { atMs: 0, targetDpt: shape.firstDpt },
            { atMs: shape.gapMs, targetDpt: move.toDpt },
          ],
          sampleTimesMs: Array.from({ length: 200 }, (_, i) => shape.settlingMs + 1e-6 + 0.5 * i),
          ...lens,
          dampingRatio,
          naturalFrequencyHz: ratio * lens.naturalFrequencyHz,
        });
        for (const dpt of powers) expect(Math.abs(dpt - move.toDpt)).toBeLessThanOrEqual(move.toleranceDpt + 1e-9);
      }
    }
  });

  it('degenerate: one step where nothing rings, where the tolerance is wide, and for no move', () => {
    expect(shapedMove({ ...lens, ...move, dampingRatio: 1 })).toBeNull();
    expect(shapedMove({ ...lens, ...move, toleranceDpt: 2.9 })).toBeNull();
    expect(shapedMove({ ...lens, ...move, toDpt: -1 })).toBeNull();
  });

  it('recovery: a search on a lens that rings takes less time and finds the same power', async () => {
    const station = withLens({ ...lens, hysteresisDpt: 0, repeatabilityDpt: 0 });
    const seen = [];
    for (const isShaped of [true, false]) {
      const bench = createSimulatedBench({ station, seed: 2, buildErrors: { hysteresisDpt: 0, repeatabilityDpt: 0 } });
      const { shaped, ...plain } = stationLensResponse(station);
      const result = await runFocusSearch({
        camera: bench.camera,
        method: classicMethod('fibonacci'),
        region: { xPx: 32, yPx: 0, widthPx: 256, heightPx: 256 },
        response: isShaped ? { ...plain, ...(shaped && { shaped }) } : plain,
      });
      seen.push(result);
    }
    const [shaped, plain] = seen;
    expect([shaped!.kind, plain!.kind]).toEqual(['found', 'found']);
    if (shaped!.kind === 'found' && plain!.kind === 'found') {
      expect(Math.abs(shaped!.focalPowerDpt - plain!.focalPowerDpt)).toBeLessThan(0.03);
      expect(shaped!.frames).toBe(plain!.frames);
    }
    expect(shaped!.elapsedMs / plain!.elapsedMs).toBeLessThan(0.85);
  });
});
