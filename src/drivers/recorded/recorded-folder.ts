import { readFile, stat } from 'node:fs/promises';
import { isAbsolute, join, normalize, sep } from 'node:path';
import { FocuswrightError } from '../../base/index.js';
import { declaredImageSize, decodeImage, type GreyImage } from '../../image/index.js';
import { type RecordedRow, readFramesTable } from './frames-table.js';

/** A folder of recorded frames: its rows, and the pictures read when asked for. */
export interface RecordedFolder {
  folder: string;
  rows: readonly RecordedRow[];
  readImage(row: RecordedRow): Promise<GreyImage>;
}

/**
 * Opens a folder with frames.csv and the image files it names, as any camera's software can export them.
 *
 * Throws   `frames-folder-missing`, `frames-folder-empty`, `frames-table-invalid`, also where the images differ in size;
 *          `image-unreadable` from `readImage`, and at once for a file that the table names but the folder lacks.
 */
export async function openRecordedFolder(folder: string): Promise<RecordedFolder> {
  const table = join(folder, 'frames.csv');
  const isFolder = await stat(folder).then(
    (s) => s.isDirectory(),
    () => false,
  );
  if (!isFolder) throw new FocuswrightError('frames-folder-missing', { folder });
  const text = await readFile(table, 'utf8').catch((cause: unknown) => {
    throw new FocuswrightError('frames-folder-empty', { folder, missing: 'frames.csv' }, { cause });
  });
  const rows = readFramesTable(text, { file: table });
  const missing: string[] = [];
  for (const row of rows) {
    const inside = normalize(row.file);
    if (isAbsolute(inside) || inside.split(sep)[0] === '..') {
      throw new FocuswrightError('frames-table-invalid', {
        file: table,
        problems: [`line ${row.line}: ${row.file} lies outside the folder`],
      });
    }
    const there = await stat(join(folder, inside)).then(
      (s) => s.isFile(),
      () => false,
    );
    if (!there) missing.push(`line ${row.line}: ${row.file} is not in the folder`);
  }
  if (missing.length) throw new FocuswrightError('image-unreadable', { file: table, problems: missing.slice(0, 20) });
  await requireOneSize(folder, rows, table);
  return {
    folder,
    rows,
    readImage: async (row) => decodeImage(await readBytes(folder, row), row.file),
  };
}

function readBytes(folder: string, { file }: RecordedRow): Promise<Buffer> {
  return readFile(join(folder, file)).catch((cause: unknown) => {
    throw new FocuswrightError('image-unreadable', { file }, { cause });
  });
}

/** One sensor took all frames, with one region of interest. A file without a readable size is left to `readImage`. */
async function requireOneSize(folder: string, rows: readonly RecordedRow[], table: string): Promise<void> {
  let first: { file: string; size: string } | null = null;
  for (const row of rows) {
    const size = await sizeOf(folder, row);
    if (size === null) continue;
    first ??= { file: row.file, size };
    if (size === first.size) continue;
    throw new FocuswrightError(
      'frames-table-invalid',
      {
        file: table,
        problems: [`line ${row.line}: ${row.file} is ${size} px, but ${first.file} is ${first.size} px`],
      },
      { remedy: 'Record all frames of a folder with one region of interest and one binning.' },
    );
  }
}

async function sizeOf(folder: string, row: RecordedRow): Promise<string | null> {
  const bytes = await readBytes(folder, row);
  try {
    const { widthPx, heightPx } = declaredImageSize(bytes, row.file);
    return `${widthPx} × ${heightPx}`;
  } catch (error) {
    if (error instanceof FocuswrightError) return null;
    throw error;
  }
}
