import { describe, expect, it } from 'vitest';
import type { GreyImage } from '../../src/image/index.js';
import { classicMethod, type FocusMethod, modelFocus } from '../../src/procedures/index.js';
import { memoryOverRuns } from './many-focus-runs.js';

const known = { cutoffPerPx: 1.2, blurRadiusPerDptPx: 8, blurRadiusLogStd: 0.03 };
/** Tables and compiled code settle in the first runs. One frame kept from each later run alone would be 1 MB. */
const mostGrowthBytes = 500_000;

describe('many focus runs', () => {
  it('property: memory in use does not grow from run to run', async () => {
    const { bytes, foundCount } = await memoryOverRuns({
      methods: [modelFocus({ optics: known }), classicMethod('fibonacci'), classicMethod('hill-climb')],
      runCount: 64,
      readings: 4,
    });
    expect(foundCount).toBeGreaterThan(40);
    expect(bytes.at(-1)! - bytes[1]!).toBeLessThan(mostGrowthBytes);
  }, 300_000);

  it('property: a method that keeps one frame of each run is noticed', async () => {
    const method = classicMethod('hill-climb');
    const kept: GreyImage[] = [];
    const keeping: FocusMethod = {
      name: method.name,
      start(task) {
        const search = method.start(task);
        let isFirst = true;
        return {
          begin: () => search.begin(),
          next(view) {
            if (isFirst) kept.push(view.image);
            isFirst = false;
            return search.next(view);
          },
          probes: search.probes,
          posterior: null,
        };
      },
    };
    const { bytes } = await memoryOverRuns({ methods: [keeping], runCount: 64, readings: 4 });
    expect(kept).toHaveLength(64);
    expect(bytes.at(-1)! - bytes[1]!).toBeGreaterThan(mostGrowthBytes);
  }, 300_000);
});
