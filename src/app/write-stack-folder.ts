import { mkdir, readdir, rename, rm, rmdir, writeFile } from 'node:fs/promises';
import { basename, dirname, join, resolve } from 'node:path';
import { FocuswrightError } from '../base/index.js';
import { encodeFloatTiff, encodePng, encodeTiff, heightPicture } from '../image/index.js';
import { heightMapFigure } from '../report/index.js';
import { makeFolder } from '../store/index.js';
import { quickPng } from './quick-png.js';
import type { StackOutcome } from './run-stack.js';

/** Checks that a folder can be made anew. Throws `output-exists` if it holds anything, `output-not-writable`. */
export async function requireNewFolder(path: string): Promise<void> {
  const folder = resolve(path);
  const names = await readdir(folder).catch((cause: NodeJS.ErrnoException) => {
    if (cause.code === 'ENOENT') return [];
    throw new FocuswrightError('output-not-writable', { folder }, { cause });
  });
  if (names.length > 0)
    throw new FocuswrightError('output-exists', {
      folder,
      holds: names.length === 1 ? names[0]! : `${names[0]} and ${names.length - 1} more`,
    });
}

/**
 * Writes all-in-focus.png, height.tif (16 bit), height-mm.tif (32-bit real), uncertainty-mm.tif, confidence.png, height.svg and
 * stack.json, all or nothing.
 *
 * Returns  the names, as the record lists them.
 * Throws   `output-exists`, `output-not-writable`.
 */
export async function writeStackFolder(
  path: string,
  { outcome, record }: { outcome: Extract<StackOutcome, { kind: 'stacked' }>; record: object },
): Promise<void> {
  const folder = resolve(path);
  await requireNewFolder(folder);
  const { heights, picture } = outcome;
  const { columns: widthPx, rows: heightPx, heightsMm, stdsMm, confidences, zeroWorkingDistanceMm, stepPx } = heights;
  const grey = heightPicture(heights);
  const about = `height in mm towards the lens above working distance ${zeroWorkingDistanceMm} mm; one value every ${stepPx} px`;
  const files: [string, Uint8Array | string][] = [
    ...(picture === null ? [] : [['all-in-focus.png', quickPng(picture)] as [string, Uint8Array]]),
    [
      'height.tif',
      encodeTiff(grey.image, {
        description: `${about}; height = ${grey.offsetMm} + ${grey.scaleMm} * grey, 0 = no height`,
      }),
    ],
    [
      'height-mm.tif',
      encodeFloatTiff({ widthPx, heightPx, data: heightsMm }, { description: `${about}; NaN = no height` }),
    ],
    [
      'uncertainty-mm.tif',
      encodeFloatTiff(
        { widthPx, heightPx, data: stdsMm },
        { description: 'standard uncertainty of height-mm.tif in mm' },
      ),
    ],
    [
      'confidence.png',
      encodePng({
        widthPx,
        heightPx,
        bitDepth: 8,
        data: Uint8Array.from(confidences, (share) => Math.round(255 * share)),
      }),
    ],
    ['height.svg', `${standalone(heightMapFigure({ heights }, { widthPx: 900, heightPx: 640 }).svg)}\n`],
    ['stack.json', `${JSON.stringify(record, null, 1)}\n`],
  ];
  try {
    await makeFolder(dirname(folder));
    const partial = join(dirname(folder), `.${basename(folder)}-${process.pid}.partial`);
    await mkdir(partial);
    try {
      for (const [name, bytes] of files) await writeFile(join(partial, name), bytes);
      await rmdir(folder).catch(() => {});
      await rename(partial, folder);
    } catch (error) {
      await rm(partial, { recursive: true, force: true });
      throw error;
    }
  } catch (cause) {
    throw new FocuswrightError('output-not-writable', { folder }, { cause });
  }
}

/** An SVG that is a file of its own. */
const standalone = (svg: string): string => `<?xml version="1.0" encoding="UTF-8"?>\n${svg}`;
