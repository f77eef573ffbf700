#!/usr/bin/env node
import { CommanderError } from 'commander';
import { exitCodes } from './exit-codes.js';
import { reportError } from './output.js';
import { buildProgram } from './program.js';

try {
  await buildProgram().parseAsync(process.argv);
} catch (error) {
  if (error instanceof CommanderError) process.exitCode = error.exitCode === 0 ? 0 : exitCodes.badInput.code;
  else reportError(error, { json: process.argv.includes('--json') });
}
