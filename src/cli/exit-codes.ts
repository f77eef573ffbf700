import { type ErrorCode, FocuswrightError } from '../base/index.js';

/** Exit codes of every command; documented in docs/cli/exit-codes.md, held by a test. */
export const exitCodes = {
  done: { code: 0, meaning: 'The work is done, whatever the verdict.' },
  badInput: {
    code: 2,
    meaning: 'Wrong use, or a file, folder, address or port that cannot be used; nothing was done.',
  },
  runFailed: {
    code: 3,
    meaning: 'Device trouble ended the run; what a commissioning had measured until then is saved.',
  },
  notMet: { code: 4, meaning: 'The verdict is worse than `--require` asks for.' },
  refused: {
    code: 5,
    meaning: 'The measurement was refused: no number can be trusted; the result says why and what to do.',
  },
  cancelled: {
    code: 130,
    meaning: 'Cancelled with Ctrl-C; the lens is parked and what a commissioning had measured is saved.',
  },
  defect: { code: 70, meaning: 'A defect in the program itself.' },
} as const;

const ofRun: ReadonlySet<ErrorCode> = new Set([
  'camera-closed',
  'camera-link-lost',
  'frame-lost',
  'lens-fault',
  'lens-not-moving',
  'lens-too-hot',
  'target-not-placeable',
]);

/** The exit code for an error that ended a command. */
export function exitCodeOf(error: unknown): number {
  if (!(error instanceof FocuswrightError)) return exitCodes.defect.code;
  if (error.code === 'cancelled') return exitCodes.cancelled.code;
  return ofRun.has(error.code) ? exitCodes.runFailed.code : exitCodes.badInput.code;
}
