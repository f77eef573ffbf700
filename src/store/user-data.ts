import { randomUUID } from 'node:crypto';
import { readFile, rename, rm, writeFile } from 'node:fs/promises';
import { homedir } from 'node:os';
import { dirname, join } from 'node:path';
import { makeFolder } from './make-folder.js';

/** Folder for what the program keeps about this person's devices; `FOCUSWRIGHT_DATA` names another one. */
export function userDataFolder({
  env,
  platform,
}: {
  env: NodeJS.ProcessEnv;
  platform: NodeJS.Platform;
} = process): string {
  if (env.FOCUSWRIGHT_DATA) return env.FOCUSWRIGHT_DATA;
  if (platform === 'win32') return join(env.LOCALAPPDATA ?? join(homedir(), 'AppData', 'Local'), 'Focuswright');
  if (platform === 'darwin') return join(homedir(), 'Library', 'Application Support', 'Focuswright');
  return join(env.XDG_DATA_HOME || join(homedir(), '.local', 'share'), 'focuswright');
}

/** What a file of the user's data holds; null where there is none, or none that can be read. */
export async function readUserData(name: string): Promise<unknown> {
  try {
    return JSON.parse(await readFile(join(userDataFolder(), name), 'utf8'));
  } catch {
    return null;
  }
}

/** Writes a file of the user's data, whole or not at all. Throws what the file system throws. */
export async function writeUserData(name: string, value: unknown): Promise<void> {
  const file = join(userDataFolder(), name);
  await makeFolder(dirname(file));
  const unfinished = `${file}.${randomUUID()}`;
  try {
    await writeFile(unfinished, `${JSON.stringify(value, null, 2)}\n`);
    await rename(unfinished, file);
  } catch (error) {
    await rm(unfinished, { force: true });
    throw error;
  }
}
