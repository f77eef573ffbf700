import { writeFile } from 'node:fs/promises';
import { FocuswrightError } from '../../../base/index.js';
import type { Figure } from '../../../report/index.js';

/** Writes a figure as a file of its own. Throws `output-not-writable`. */
export async function writeSvg(file: string, { svg }: Figure): Promise<void> {
  await writeFile(file, `<?xml version="1.0" encoding="UTF-8"?>\n${svg}\n`).catch((cause: unknown) => {
    throw new FocuswrightError('output-not-writable', { file }, { cause });
  });
}
