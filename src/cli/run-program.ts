import { CommanderError } from 'commander';
import { exitCodes } from './exit-codes.js';
import { reportError } from './output.js';
import { buildProgram } from './program.js';

/** Runs the command line `argv` (node, script, arguments …) to its end; sets the process's exit code, throws nothing. */
export async function runProgram(argv: readonly string[]): Promise<void> {
  process.once('exit', tellUnanswered);
  try {
    await buildProgram().parseAsync(argv);
  } catch (error) {
    if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? 0 : exitCodes.badInput.code;
    else reportError(error, { json: argv.includes('--json') });
  } finally {
    process.removeListener('exit', tellUnanswered);
  }
}

/** A command that waits for what never comes must not end as if it were done. */
function tellUnanswered(): void {
  process.stderr.write('focuswright: a defect in the program: it ended without an answer.\n');
  process.exitCode = exitCodes.defect.code;
}
