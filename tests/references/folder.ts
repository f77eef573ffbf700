import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { decode as decodePng } from 'fast-png';
import { decode as decodeTiff } from 'tiff';

/** One row of frames.csv. */
export interface RecordedRow {
  file: string;
  focalPowerDpt: number;
  workingDistanceMm: number;
  temperatureDegC: number;
  exposureMs: number;
}

/** Grey values as stored. */
export interface Pixels {
  widthPx: number;
  heightPx: number;
  values: ArrayLike<number>;
}

export const referenceFile = (path: string): URL => new URL(`../../references/${path}`, import.meta.url);
export const readBytes = (path: string): Buffer => readFileSync(referenceFile(path));
export const readText = (path: string): string => readFileSync(referenceFile(path), 'utf8');
export const readJson = <T>(path: string): T => JSON.parse(readText(path)) as T;
export const listFolder = (path: string): string[] => readdirSync(referenceFile(path)).sort();
export const sha256 = (data: Uint8Array): string => createHash('sha256').update(data).digest('hex');

/** The rows of a folder's frames.csv; the header must be the agreed one. */
export function readRows(folder: string): RecordedRow[] {
  const [header, ...lines] = readText(`${folder}/frames.csv`).trim().split('\n');
  if (header !== 'file,focalPowerDpt,workingDistanceMm,temperatureDegC,exposureMs')
    throw new Error(`header is ${header}`);
  return lines.map((line) => {
    const [file, power, distance, temperature, exposure] = line.split(',');
    return {
      file: file!,
      focalPowerDpt: Number(power),
      workingDistanceMm: Number(distance),
      temperatureDegC: Number(temperature),
      exposureMs: Number(exposure),
    };
  });
}

/** Decoded by general-purpose libraries, not by this project's readers. */
export function readPixels(path: string): Pixels {
  const bytes = readBytes(path);
  const image = path.endsWith('.png') ? decodePng(bytes) : decodeTiff(bytes)[0]!;
  return { widthPx: image.width, heightPx: image.height, values: image.data as ArrayLike<number> };
}
