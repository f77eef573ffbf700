import { stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { counted, FocuswrightError } from '../base/index.js';
import { openRecordedFolder, type RecordedRow } from '../drivers/index.js';

/** One sweep of a folder of frames: the rows at one target distance. All frames have one size. */
export interface SweepFolder {
  /** Where the files of the rows lie. */
  folder: string;
  rows: readonly RecordedRow[];
  widthPx: number;
  heightPx: number;
  bitDepth: number;
}

/**
 * The frames of one sweep: a folder with frames.csv, or a handover, whose frames lie below it.
 *
 * Throws   as openRecordedFolder; `sweep-not-single` where the table names several target distances and none of them is
 *          chosen; `image-unreadable` if the first frame cannot be read.
 */
export async function openSweepFolder(
  folder: string,
  { distanceMm }: { distanceMm?: number | undefined } = {},
): Promise<SweepFolder> {
  const isHandover =
    (await isFile(join(folder, 'frames', 'frames.csv'))) && !(await isFile(join(folder, 'frames.csv')));
  const place = isHandover ? join(folder, 'frames') : folder;
  const recording = await openRecordedFolder(place);
  const distancesMm = [...new Set(recording.rows.map((row) => row.workingDistanceMm))].sort((a, b) => a - b);
  const wanted = distanceMm ?? (distancesMm.length === 1 ? distancesMm[0] : undefined);
  const rows = recording.rows.filter((row) => wanted !== undefined && Math.abs(row.workingDistanceMm - wanted) < 0.01);
  if (rows.length === 0) {
    const count = (mm: number) => recording.rows.filter((row) => row.workingDistanceMm === mm).length;
    throw new FocuswrightError('sweep-not-single', {
      folder: place,
      ...(wanted !== undefined && { wanted: `${wanted} mm` }),
      distances: distancesMm.map((mm) => `${mm} mm: ${counted(count(mm), 'frame')}`),
    });
  }
  const { widthPx, heightPx, bitDepth } = await recording.readImage(rows[0]!);
  return { folder: place, rows, widthPx, heightPx, bitDepth };
}

/** results.json and station.yaml of the handover that a folder is, or lies in; null where there is none. */
export async function handoverFilesOf(folder: string): Promise<{ results: string | null; station: string | null }> {
  for (const place of [folder, dirname(folder)]) {
    const [results, station] = [join(place, 'results.json'), join(place, 'station.yaml')];
    if (!(await isFile(results)) || !(await isFile(join(place, 'frames', 'frames.csv')))) continue;
    return { results, station: (await isFile(station)) ? station : null };
  }
  return { results: null, station: null };
}

const isFile = (path: string): Promise<boolean> =>
  stat(path).then(
    (s) => s.isFile(),
    () => false,
  );
