import { writeSync } from 'node:fs';
import type { Reporter, SerializedError, TestModule } from 'vitest/node';

interface Counts {
  passed: number;
  failed: number;
  skipped: number;
}

/** Tests by state, plus one failure for each unhandled error, unloadable module and broken suite hook. */
function countResults(modules: readonly TestModule[], unhandledErrors: readonly SerializedError[]): Counts {
  const counts = { passed: 0, failed: unhandledErrors.length, skipped: 0 };
  for (const module of modules) {
    for (const test of module.children.allTests()) {
      const { state } = test.result();
      counts[state === 'pending' ? 'failed' : state] += 1;
    }
    if (module.errors().length > 0) counts.failed += 1;
    for (const suite of module.children.allSuites()) if (suite.errors().length > 0) counts.failed += 1;
  }
  return counts;
}

/** Tests that passed only when they were run once more. */
const flakyTests = (modules: readonly TestModule[]): string[] =>
  modules.flatMap((module) =>
    [...module.children.allTests()].filter((test) => test.diagnostic()?.flaky).map((test) => test.fullName),
  );

function closingLine({ passed, failed, skipped }: Counts): string {
  return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}\n`;
}

/** Prints `N passed, N failed` as the very last line of a run, also when the run breaks off. */
export class ClosingLineReporter implements Reporter {
  private counts: Counts = { passed: 0, failed: 1, skipped: 0 };

  onInit(): void {
    process.once('exit', () => writeSync(1, closingLine(this.counts)));
  }

  onTestRunEnd(modules: readonly TestModule[], unhandledErrors: readonly SerializedError[]): void {
    this.counts = countResults(modules, unhandledErrors);
    for (const name of flakyTests(modules)) writeSync(1, `passed only the second time: ${name}\n`);
    if (modules.length === 0) this.counts.failed += 1;
  }
}
