import { bench, describe } from 'vitest';
import { combinationCount, searchSlice } from '../src/planning/index.js';
import { spacesToMeasure } from './search-space.js';

const spaces = await spacesToMeasure();
const once = { iterations: 1, warmupIterations: 0, time: 0, warmupTime: 0 };

describe('layout search, one core', () => {
  for (const [name, space] of Object.entries(spaces)) {
    bench(
      `${name}: ${combinationCount(space).toLocaleString('en')} combinations`,
      () => {
        searchSlice(space, { sliceIndex: 0, sliceCount: 1 });
      },
      once,
    );
  }
});
