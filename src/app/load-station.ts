import { createHash } from 'node:crypto';
import { readdirSync } from 'node:fs';
import { readFile, stat } from 'node:fs/promises';
import { FocuswrightError, systemReason } from '../base/index.js';
import { readStation, type Station } from '../station/index.js';
import { packageFile } from './package-files.js';

/** A station with the text it was read from. */
export interface LoadedStation {
  station: Station;
  yaml: string;
  /** SHA-256 of the text: the input hash of every result. */
  sha256: string;
  /** Path as opened. */
  path: string;
}

const largestFileBytes = 1_000_000;

/** Names of the demonstration stations that ship with the package. */
export function demoStationNames(): string[] {
  return readdirSync(packageFile('stations'))
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => name.slice(0, -'.yaml'.length))
    .sort();
}

/**
 * Reads a station file, or a demonstration station by its name.
 *
 * Throws   `station-unreadable`, `station-malformed`, `station-invalid`.
 */
export async function loadStation(pathOrName: string): Promise<LoadedStation> {
  const { yaml, path } = await readStationText(pathOrName);
  return { ...parseStationText(yaml, path), path };
}

/** The text of a station file, or of a demonstration station by its name, unchecked. Throws `station-unreadable`. */
export async function readStationText(pathOrName: string): Promise<{ yaml: string; path: string }> {
  const demo = demoStationNames().includes(pathOrName);
  const there = await stat(pathOrName).then(
    (s) => s.isFile(),
    () => false,
  );
  const path = demo && !there ? packageFile(`stations/${pathOrName}.yaml`) : pathOrName;
  return { yaml: (await readStationBytes(path)).toString('utf8'), path };
}

/** Reads a station from its text; `fileName` stands in messages. */
export function parseStationText(yaml: string, fileName: string): { station: Station; yaml: string; sha256: string } {
  return { station: readStation(yaml, { fileName }), yaml, sha256: createHash('sha256').update(yaml).digest('hex') };
}

async function readStationBytes(path: string): Promise<Buffer> {
  try {
    const { size } = await stat(path);
    if (size > largestFileBytes) {
      throw new FocuswrightError(
        'station-unreadable',
        { file: path, bytes: size, allowed: `≤ ${largestFileBytes} bytes` },
        { remedy: 'A station file is a short text; is this the right file?' },
      );
    }
    return await readFile(path);
  } catch (cause) {
    if (cause instanceof FocuswrightError) throw cause;
    throw new FocuswrightError(
      'station-unreadable',
      { file: path, reason: systemReason(cause) },
      {
        cause,
        remedy: `Check the path and the read permission, or name a demonstration station: ${demoStationNames().join(', ')}.`,
      },
    );
  }
}
