import { bench, describe } from 'vitest';
import { classicMethod, modelFocus } from '../src/procedures/index.js';
import { memoryOverRuns } from '../tests/procedures/many-focus-runs.js';

/** FOCUS_RUNS=1000 for a first idea. */
const runCount = Number(process.env.FOCUS_RUNS ?? 10_000);
const known = { cutoffPerPx: 1.2, blurRadiusPerDptPx: 8, blurRadiusLogStd: 0.03 };

const megabytes = (bytes: number) => (bytes / 1e6).toFixed(2);
const { bytes, foundCount, frameCount } = await memoryOverRuns({
  methods: [modelFocus({ optics: known }), classicMethod('hill-climb'), modelFocus(), classicMethod('fibonacci')],
  runCount,
  readings: 10,
  onReading: ({ run, bytes: now }) => process.stdout.write(`  after ${run} focus runs: ${megabytes(now)} MB in use\n`),
});
process.stdout.write(
  `${runCount} focus runs, ${foundCount} found, ${frameCount} frames: ${megabytes(bytes.at(-1)! - bytes[0]!)} MB more in use at the end than after the first tenth\n`,
);

describe('focus run on a camera with frames ready, 128 × 128', () => {
  for (const [name, method] of [
    ['model, optics known', modelFocus({ optics: known })],
    ['hill climb', classicMethod('hill-climb')],
  ] as const) {
    bench(name, async () => void (await memoryOverRuns({ methods: [method], runCount: 1, readings: 1 })), {
      iterations: 3,
      time: 0,
    });
  }
});
