import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { type CancelSignal, FocuswrightError, neverCancelled, throwIfCancelled } from '../base/index.js';
import { type GreyImage, levelNoiseMeter, type NoiseLevel, type Region, wholeFrame } from '../image/index.js';
import { readNoiseTable } from './noise-table.js';
import { type BayerChoice, readImage, readImagePages, regionInside } from './read-image.js';

/** A level with the files it was measured from. */
export type FileLevel = NoiseLevel & { files: string[] };

/** The levels of a noise measurement, and what they were read from. */
export interface ReadNoiseLevels {
  levels: FileLevel[];
  inputs: { file: string; sha256: string }[];
  region: Region;
  widthPx: number;
  heightPx: number;
  bitDepth: number;
}

/** Frames of one level, before they are read. */
interface Group {
  files: string[];
  exposureMs: number | null;
  dark: boolean;
}

/** Of larger frames the middle is taken: sums are kept of every pixel. */
const mostPixels = 16e6;

/**
 * Reads the frames of a noise measurement level by level; one frame is in memory at a time.
 *
 * Input    a folder with frames.csv (readNoiseTable), or image files: each TIFF of several pages is a level, other files make
 *          levels in pairs, in their order
 * Throws   `frames-folder-empty`, `frames-table-invalid` (also where frames differ in size or bit depth), `frames-too-few`, `image-unreadable`, `image-too-large`, `region-outside-frame`, `cancelled`.
 */
export async function readNoiseLevels(
  paths: readonly string[],
  {
    region: wanted,
    bayer,
    signal = neverCancelled,
    onProgress,
  }: {
    region?: Region;
    bayer?: BayerChoice;
    signal?: CancelSignal;
    onProgress?: (doneCount: number, total: number) => void;
  } = {},
): Promise<ReadNoiseLevels> {
  const groups = await groupsOf(paths);
  const total = groups.reduce((sum, { files }) => sum + files.length, 0);
  const inputs: ReadNoiseLevels['inputs'] = [];
  const levels: FileLevel[] = [];
  let first: { file: string; image: GreyImage } | null = null;
  let region: Region | null = null;
  for (const { files, exposureMs, dark } of groups) {
    let meter: ReturnType<typeof levelNoiseMeter> | null = null;
    for (const file of files) {
      throwIfCancelled(signal, 'reading frames');
      const { images, sha256 } = await readPages(file, { bayer, all: files.length === 1 });
      inputs.push({ file, sha256 });
      for (const image of images) {
        first ??= { file, image: { ...image, data: new Uint8Array(0) } };
        requireAlike(first, { file, image });
        region ??= wanted ? regionInside(wanted, { file, image }) : middle(wholeFrame(image));
        meter ??= levelNoiseMeter(region);
        meter.add(image);
      }
      onProgress?.(inputs.length, total);
    }
    levels.push({ ...meter!.result(), exposureMs, dark, files });
  }
  const { widthPx, heightPx, bitDepth } = first!.image;
  return { levels, inputs, region: region!, widthPx, heightPx, bitDepth };
}

async function readPages(file: string, { bayer, all }: { bayer: BayerChoice | undefined; all: boolean }) {
  if (all) {
    const { images, sha256 } = await readImagePages(file, { bayer });
    if (images.length < 2) throw tooFew(file);
    return { images, sha256 };
  }
  const { image, sha256 } = await readImage(file, { bayer });
  return { images: [image], sha256 };
}

const tooFew = (file: string) => new FocuswrightError('frames-too-few', { file });

async function groupsOf(paths: readonly string[]): Promise<Group[]> {
  const folder = paths[0]!;
  const isFolder = await stat(folder).then(
    (found) => found.isDirectory(),
    () => false,
  );
  if (isFolder && paths.length === 1) return groupsOfFolder(folder);
  const groups: Group[] = [];
  const singles: string[] = [];
  for (const file of paths) {
    const { pageCount } = await readImage(file);
    if (pageCount > 1) groups.push({ files: [file], exposureMs: null, dark: false });
    else singles.push(file);
  }
  if (singles.length % 2 === 1) throw tooFew(singles.at(-1)!);
  for (let i = 0; i < singles.length; i += 2) {
    groups.push({ files: singles.slice(i, i + 2), exposureMs: null, dark: false });
  }
  return groups;
}

async function groupsOfFolder(folder: string): Promise<Group[]> {
  const table = join(folder, 'frames.csv');
  const text = await readFile(table, 'utf8').catch((cause: unknown) => {
    throw new FocuswrightError('frames-folder-empty', { folder, missing: 'frames.csv' }, { cause });
  });
  const groups = new Map<string, Group>();
  for (const { file, exposureMs, dark, key } of readNoiseTable(text, table)) {
    const group = groups.get(key) ?? { files: [], exposureMs, dark };
    group.files.push(join(folder, file));
    groups.set(key, group);
  }
  return [...groups.values()];
}

function requireAlike(first: { file: string; image: GreyImage }, { file, image }: { file: string; image: GreyImage }) {
  const inWords = ({ widthPx, heightPx, bitDepth }: GreyImage) => `${widthPx} × ${heightPx} px of ${bitDepth} bit`;
  if (inWords(image) === inWords(first.image)) return;
  throw new FocuswrightError(
    'frames-table-invalid',
    { problems: [`${file} is ${inWords(image)}, but ${first.file} is ${inWords(first.image)}`] },
    { remedy: 'Record all frames with one region of interest, one binning and one pixel format.' },
  );
}

function middle(whole: Region): Region {
  const scale = Math.min(1, Math.sqrt(mostPixels / (whole.widthPx * whole.heightPx)));
  const widthPx = Math.floor(whole.widthPx * scale);
  const heightPx = Math.floor(whole.heightPx * scale);
  return {
    xPx: (whole.widthPx - widthPx) >> 1,
    yPx: (whole.heightPx - heightPx) >> 1,
    widthPx,
    heightPx,
  };
}
