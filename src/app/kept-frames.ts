import { readdir, readFile } from 'node:fs/promises';
import { join, resolve, sep } from 'node:path';
import { readFramesTable } from '../drivers/index.js';
import type { KeptFolder, KeptFrame } from '../protocol/index.js';
import type { CommissionRecord } from '../station/index.js';

/** Where the frames of a folder may lie: in it, as in a recording, or below it, as in a handover. */
const places = ['frames', ''] as const;

/** Folders below `root` that hold frames with their table, the newest first; a table that cannot be read leaves its folder out. */
export async function listKeptFolders(root: string): Promise<KeptFolder[]> {
  const entries = await readdir(root, { withFileTypes: true }).catch(() => []);
  const folders = await Promise.all(
    entries
      .filter((entry) => entry.isDirectory())
      .map(async ({ name }) => {
        const table = await tableOf(join(root, name)).catch(() => null);
        return table && { name, frames: table.rows.length };
      }),
  );
  return folders.filter((folder) => folder !== null).sort((a, b) => (a.name < b.name ? 1 : -1));
}

/**
 * The frames of one of these folders, in the order of its table.
 *
 * Returns  null for a name that is no folder with frames; `offBestFocusDpt` where the handover knows best focus at the
 *          frame's distance.
 * Throws   `frames-table-invalid`.
 */
export async function keptFramesOf(root: string, name: string): Promise<KeptFrame[] | null> {
  const table = await keptTable(root, name);
  if (!table) return null;
  const record = await recordOf(join(root, name));
  return table.rows.map(({ file, focalPowerDpt, workingDistanceMm, exposureMs, source }): KeptFrame => {
    return {
      file,
      url: `/api/frames/${encodeURIComponent(name)}/file?name=${encodeURIComponent(file)}`,
      focalPowerDpt,
      workingDistanceMm,
      exposureMs,
      simulated: source?.startsWith('sim:') === true,
      offBestFocusDpt: offBestFocusDpt(record, { focalPowerDpt, workingDistanceMm }),
    };
  });
}

/**
 * The bytes of one of these frames.
 *
 * Returns  null for a name that the folder's table does not list, for a place outside the folder, and where there is no such file.
 * Throws   `frames-table-invalid`.
 */
export async function keptFrameFile(
  root: string,
  { folder, file }: { folder: string; file: string },
): Promise<Uint8Array | null> {
  const table = await keptTable(root, folder);
  if (!table?.rows.some((row) => row.file === file)) return null;
  const place = resolve(root, folder, table.place);
  const path = resolve(place, file);
  return path.startsWith(place + sep) ? readFile(path).catch(() => null) : null;
}

/** The table of a folder that is listed; null for any other. */
async function keptTable(root: string, name: string) {
  const isThere = (await listKeptFolders(root)).some((folder) => folder.name === name);
  return isThere ? tableOf(join(root, name)) : null;
}

async function tableOf(folder: string) {
  for (const place of places) {
    const file = join(folder, place, 'frames.csv');
    const text = await readFile(file, 'utf8').catch(() => null);
    if (text !== null) return { place, rows: readFramesTable(text, { file }) };
  }
  return null;
}

/** The handover's results; null where there are none, or none that can be read. */
async function recordOf(folder: string): Promise<CommissionRecord | null> {
  const text = await readFile(join(folder, 'results.json'), 'utf8').catch(() => null);
  try {
    const record = text === null ? null : (JSON.parse(text) as CommissionRecord);
    return Array.isArray(record?.autofocus) ? record : null;
  } catch {
    return null;
  }
}

/** Frames so near a distance belong to it. */
const sameDistanceMm = 0.01;

function offBestFocusDpt(
  record: CommissionRecord | null,
  { focalPowerDpt, workingDistanceMm }: { focalPowerDpt: number; workingDistanceMm: number },
): number | null {
  const here = record?.autofocus.find(
    (result) => result.kind === 'found' && Math.abs(result.workingDistanceMm - workingDistanceMm) < sameDistanceMm,
  );
  return here?.kind === 'found' ? focalPowerDpt - here.focalPowerDpt : null;
}
