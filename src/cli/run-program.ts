import { CommanderError } from 'commander';
import { exitCodes } from './exit-codes.js';
import { reportError } from './output.js';
import { buildProgram } from './program.js';

/** Runs the command line `argv` (node, script, arguments …) to its end; sets the process's exit code, throws nothing. */
export async function runProgram(argv: readonly string[]): Promise<void> {
  try {
    await buildProgram().parseAsync(argv);
  } catch (error) {
    if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? 0 : exitCodes.badInput.code;
    else reportError(error, { json: argv.includes('--json') });
  }
}
