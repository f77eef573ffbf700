import { statSync } from 'node:fs';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Tests that mostly wait: for a camera's heartbeat, a lens, a lost packet. */
const waits = (file: TestSpecification): boolean => /[\\/]tests[\\/]wire[\\/]/.test(file.moduleId);

/**
 * Order of the test files: those apart first, the longest text of them in front, one that waits beside one that computes; then
 * those that share a process, in one row, so that the process is kept.
 */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sized = files.map((file) => ({ file, byteCount: statSync(file.moduleId).size }));
    sized.sort((a, b) => b.byteCount - a.byteCount);
    const ordered = sized.map(({ file }) => file);
    const apart = ordered.filter(({ project }) => project.config.isolate);
    const shared = ordered.filter(({ project }) => !project.config.isolate);
    return [
      ...alternating(
        apart.filter(waits),
        apart.filter((file) => !waits(file)),
      ),
      ...shared,
    ];
  }
}

function alternating<T>(a: readonly T[], b: readonly T[]): T[] {
  return Array.from({ length: Math.max(a.length, b.length) }, (_, i) => [a.slice(i, i + 1), b.slice(i, i + 1)]).flat(2);
}
