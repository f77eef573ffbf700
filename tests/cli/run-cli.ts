import { spawn } from 'node:child_process';

/** How the built command ended. */
export interface Ended {
  code: number | null;
  stdout: string;
  stderr: string;
}

/** Runs the built command to its end. */
export function focuswright(args: readonly string[]): Promise<Ended> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, ['dist/cli/main.js', ...args]);
    let stdout = '';
    let stderr = '';
    child.stdout.on('data', (chunk) => {
      stdout += chunk;
    });
    child.stderr.on('data', (chunk) => {
      stderr += chunk;
    });
    child.on('close', (code) => resolve({ code, stdout, stderr }));
  });
}
