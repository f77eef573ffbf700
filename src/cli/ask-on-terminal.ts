import { createInterface } from 'node:readline/promises';
import type { AskForTarget } from '../app/index.js';
import type { CancelSignal } from '../base/index.js';

/** Asks the person at the terminal to place the target; nobody where there is no terminal. */
export function askOnTerminal(signal: CancelSignal): AskForTarget {
  return async (workingDistanceMm) => {
    if (!process.stdin.isTTY || signal.aborted) return null;
    const lines = createInterface({ input: process.stdin, output: process.stderr });
    try {
      const wanted = workingDistanceMm.toFixed(1);
      const answer = await lines.question(
        `Keep clear of moving machinery. Place the target at ${wanted} mm from the front of the lens; press Enter, or type the distance as read in mm: `,
        { signal: signal as AbortSignal },
      );
      return answer.trim() === '' ? workingDistanceMm : Number(answer.replace(',', '.'));
    } finally {
      lines.close();
    }
  };
}
