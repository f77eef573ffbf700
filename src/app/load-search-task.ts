import { readSearchTask, type SearchTask } from '../station/index.js';
import { readStationText } from './load-station.js';

/**
 * Reads the task of a search: a station file, a file with a task alone, or a demonstration station by its name.
 *
 * Throws   `station-unreadable`, `station-malformed`, `station-invalid`.
 */
export async function loadSearchTask(pathOrName: string): Promise<SearchTask> {
  const { yaml, path } = await readStationText(pathOrName);
  return readSearchTask(yaml, { fileName: path });
}
