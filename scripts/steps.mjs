// What the build and the checks share: running a tool quietly, and hashing a set of files.
import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('..', import.meta.url));

const stillEveryMs = 15_000;

/** Runs an installed tool and says from time to time that it is at it; its output is shown only when it fails. Resolves to true on success. */
export function step(title, tool, args = []) {
  const started = performance.now();
  const still = setInterval(() => {
    const seconds = ((performance.now() - started) / 1000).toFixed(0);
    process.stdout.write(`${title}: still at it after ${seconds} s …\n`);
  }, stillEveryMs);
  return new Promise((resolve) => {
    const child = spawn(join(root, 'node_modules', '.bin', tool), args, {
      cwd: root,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const output = [];
    child.stdout.on('data', (data) => output.push(data));
    child.stderr.on('data', (data) => output.push(data));
    child.on('error', (error) => output.push(Buffer.from(String(error))));
    child.on('close', (code) => {
      clearInterval(still);
      const seconds = ((performance.now() - started) / 1000).toFixed(1);
      if (code === 0) process.stdout.write(`${title} ok (${seconds} s)\n`);
      else process.stdout.write(`${title} FAILED (${seconds} s)\n${Buffer.concat(output)}\n`);
      resolve(code === 0);
    });
  });
}

/** Paths of all files below `folder`, relative to the repository, sorted. */
export function filesBelow(folder) {
  return readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(root, join(entry.parentPath, entry.name)))
    .sort();
}

export function hashOf(paths, salt = '') {
  const hash = createHash('sha256').update(salt);
  for (const path of paths) hash.update(`\0${path}\0`).update(readFileSync(join(root, path)));
  return hash.digest('hex');
}
