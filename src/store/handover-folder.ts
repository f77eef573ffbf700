import { createHash } from 'node:crypto';
import { access, constants, readdir, rename, rm, writeFile } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { FocuswrightError } from '../base/index.js';
import type { EvidenceSink, Frame } from '../devices/index.js';
import { encodeTiff } from '../image/index.js';
import { type FrameRow, framesCsv } from './frames-csv.js';
import { makeFolder } from './make-folder.js';

/** A handover folder while it is being filled. */
export interface HandoverFolder extends EvidenceSink {
  readonly path: string;
  /** Notes the distance the next frames are taken at, for frames.csv. */
  atDistance(workingDistanceMm: number): void;
  /** Writes a file whole or not at all. */
  keepText(name: string, text: string): Promise<void>;
  /** Writes frames.csv and SHA256SUMS, which close the folder; takes it away again if nothing was kept in it. */
  end(): Promise<void>;
}

/**
 * Creates a folder for a handover: report, results, station, and frames as TIFF with a frames.csv, so that the frames can
 * be read again as `frames:DIR` and every number recomputed.
 *
 * Throws   `output-exists` if the folder holds anything, `output-not-writable` if it cannot be made or written.
 */
export async function createHandoverFolder(path: string): Promise<HandoverFolder> {
  const folder = resolve(path);
  const existed = await isFilledFolder(folder);
  const made = await makeFolder(join(folder, 'frames')).catch((cause: unknown) => {
    throw new FocuswrightError('output-not-writable', { folder }, { cause });
  });
  await access(folder, constants.W_OK).catch((cause: unknown) => {
    throw new FocuswrightError('output-not-writable', { folder }, { cause });
  });
  const sums = new Map<string, string>();
  const rows: FrameRow[] = [];
  const labels = new Map<string, number>();
  let distanceMm: number | null = null;

  async function keep(name: string, bytes: Uint8Array | string): Promise<string> {
    const target = join(folder, name);
    const partial = join(dirname(target), `.${Date.now()}-${process.pid}.partial`);
    try {
      await writeFile(partial, bytes);
      await rename(partial, target);
    } catch (cause) {
      await rm(partial, { force: true });
      throw new FocuswrightError('output-not-writable', { file: target }, { cause });
    }
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    sums.set(name, sha256);
    return sha256;
  }

  return {
    path: folder,
    atDistance(workingDistanceMm) {
      distanceMm = workingDistanceMm;
    },
    async keepFrame(frame: Frame, label: string) {
      const stem = label.replace(/[^A-Za-z0-9.+-]+/g, '-');
      const turn = labels.get(stem) ?? 0;
      labels.set(stem, turn + 1);
      const file = `frames/${turn === 0 ? stem : `${stem}-${turn + 1}`}.tiff`;
      const sha256 = await keep(file, encodeTiff(frame.image, { description: describe(frame) }));
      // Frames of an unplaced target have no place in the table: it could not be read again.
      if (distanceMm !== null) {
        const purpose = /^[a-z]+/.exec(label)?.[0] ?? '';
        rows.push({ file: file.slice('frames/'.length), frame, workingDistanceMm: distanceMm, purpose });
      }
      return { file, sha256 };
    },
    async keepText(name, text) {
      await keep(name, text);
    },
    async end() {
      if (sums.size === 0) {
        await rm(existed ? join(folder, 'frames') : made, { recursive: true, force: true });
        return;
      }
      await keep('frames/frames.csv', framesCsv(rows));
      const lines = [...sums].sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, sum]) => `${sum}  ${name}\n`);
      await keep('SHA256SUMS', lines.join(''));
    },
  };
}

/** true: the folder is there and empty; false: it is not there; throws if it holds anything. */
async function isFilledFolder(folder: string): Promise<boolean> {
  let names: string[];
  try {
    names = await readdir(folder);
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code === 'ENOENT') return false;
    throw new FocuswrightError('output-not-writable', { folder }, { cause });
  }
  if (names.length > 0)
    throw new FocuswrightError('output-exists', {
      folder,
      holds: names.length === 1 ? names[0]! : `${names[0]} and ${names.length - 1} more`,
    });
  return true;
}

function describe(frame: Frame): string {
  const simulated = frame.source.startsWith('sim:') ? 'SIMULATED; ' : '';
  return `${simulated}source ${frame.source}; focalPowerDpt ${frame.focalPowerDpt}; exposureMs ${frame.exposureMs ?? 'unknown'}`;
}
