import { mkdir } from 'node:fs/promises';
import { dirname } from 'node:path';

/**
 * Makes a folder and the folders above it that are missing; fine if it is there already.
 *
 * Returns  the topmost folder that was made, or the folder itself.
 * Throws   what the file system says. One level at a time: Node's own recursive way never ends where a level cannot be
 *          made but counts as missing, as below /proc.
 */
export async function makeFolder(folder: string): Promise<string> {
  try {
    await mkdir(folder);
    return folder;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST') return folder;
    if (code !== 'ENOENT' || dirname(folder) === folder) throw error;
  }
  const top = await makeFolder(dirname(folder));
  await mkdir(folder);
  return top;
}
