import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';
import { ClosingLineReporter } from './tests/house/closing-line-reporter.js';
import { LongestFirst } from './tests/house/longest-first.js';

/** Tests of these folders compute and keep nothing: they share one process a worker, which loads each module once. */
const pure = 'tests/{base,optics,image,station,devices,planning,procedures,twin,report,references}/**/*.test.{ts,tsx}';

export default defineConfig({
  test: {
    reporters: ['dot', new ClosingLineReporter()],
    projects: [
      {
        extends: true,
        test: {
          name: 'apart',
          include: ['tests/**/*.test.{ts,tsx}'],
          exclude: [pure],
          benchmark: { include: ['bench/**/*.bench.ts'] },
        },
      },
      { extends: true, test: { name: 'pure', include: [pure], isolate: false, benchmark: { include: [] } } },
    ],
    setupFiles: ['tests/house/property-seed.ts', 'tests/house/own-user-data.ts', 'tests/house/wire-once-more.ts'],
    // One more than there are cores: many tests wait for a process, a page or a camera.
    maxWorkers: availableParallelism() + 1,
    sequence: { sequencer: LongestFirst },
    testTimeout: 180_000,
    expect: { poll: { timeout: 60_000 } },
    hookTimeout: 120_000,
    coverage: { include: ['src/**/*.{ts,tsx}'], exclude: ['**/*.wasm.ts'] },
  },
});
