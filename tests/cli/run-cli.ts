import { vi } from 'vitest';
import { runProgram } from '../../src/cli/run-program.js';

/** How a command ended. */
export interface Ended {
  code: number;
  stdout: string;
  stderr: string;
}

/** Runs a command in this process, for tests of many cases; one call at a time. */
export async function focuswright(args: readonly string[]): Promise<Ended> {
  const ended: Ended = { code: 0, stdout: '', stderr: '' };
  const catching = (to: 'stdout' | 'stderr') =>
    vi.spyOn(process[to], 'write').mockImplementation((chunk) => {
      ended[to] += chunk;
      return true;
    });
  const spies = [catching('stdout'), catching('stderr')];
  const before = process.exitCode;
  process.exitCode = 0;
  try {
    await runProgram(['node', 'focuswright', ...args]);
    ended.code = Number(process.exitCode);
  } finally {
    process.exitCode = before;
    for (const spy of spies) spy.mockRestore();
  }
  return ended;
}
