import { defineConfig } from 'vitest/config';
import { ClosingLineReporter } from './tests/house/closing-line-reporter.js';

export default defineConfig({
  test: {
    reporters: ['dot', new ClosingLineReporter()],
    include: ['tests/**/*.test.{ts,tsx}'],
    benchmark: { include: ['bench/**/*.bench.ts'] },
    setupFiles: ['tests/house/property-seed.ts', 'tests/house/own-user-data.ts', 'tests/house/wire-once-more.ts'],
    maxWorkers: '100%',
    testTimeout: 180_000,
    expect: { poll: { timeout: 60_000 } },
    hookTimeout: 120_000,
    coverage: { include: ['src/**/*.{ts,tsx}'], exclude: ['**/*.wasm.ts'] },
  },
});
