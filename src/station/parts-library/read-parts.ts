import { FocuswrightError } from '../../base/index.js';
import { type PlacedMessage, problemsOf, type StationProblem } from '../station-problem.js';
import { emptyPartsLibrary, type PartsLibrary, partKinds } from './part-kinds.js';
import { type PartsTable, partsFromTable } from './parts-table.js';
import { partsFromYaml } from './parts-yaml.js';

/** A file of parts: YAML text, or a datasheet table. */
export type PartsFile = { fileName: string; yaml: string } | { fileName: string; table: PartsTable };

/** A library, or everything that is wrong with its files. */
export type CheckedParts = { kind: 'valid'; parts: PartsLibrary } | { kind: 'invalid'; problems: StationProblem[] };

/**
 * Checks the files of a parts library and puts them together, defaults filled in.
 *
 * Returns  the parts, or all problems: each names file, line, key, received value, allowed range with unit, and remedy.
 *          A name may be used once for each kind, over all files.
 * Trust    a valid library may be too small to search: see requireSearchable in planning.
 */
export function checkParts(files: readonly PartsFile[]): CheckedParts {
  const parts = emptyPartsLibrary();
  const problems: StationProblem[] = [];
  const taken = new Map<string, string>();
  for (const file of files) {
    const read = 'yaml' in file ? partsFromYaml(file.yaml) : partsFromTable(file.table);
    const twice: PlacedMessage[] = [];
    for (const { kind, part, place } of read.parts) {
      const { list, words } = partKinds[kind];
      const id = `${kind} ${part.name}`;
      const first = taken.get(id);
      if (first) {
        const message = `${place.keyPath} is "${part.name}", a name that the ${words} at ${first} has; give each part its own`;
        twice.push({ ...place, message });
      } else {
        taken.set(id, `${file.fileName}:${place.line}`);
        (parts[list] as unknown[]).push(part);
      }
    }
    problems.push(...problemsOf(file.fileName, [...read.problems, ...twice]));
  }
  return problems.length > 0 ? { kind: 'invalid', problems } : { kind: 'valid', parts };
}

/**
 * Reads the files of a parts library: checkParts, for callers that cannot go on without.
 *
 * Throws   FocuswrightError `parts-invalid` with the list `problems`.
 */
export function readParts(files: readonly PartsFile[]): PartsLibrary {
  const checked = checkParts(files);
  if (checked.kind === 'valid') return checked.parts;
  throw new FocuswrightError('parts-invalid', { problems: checked.problems.map(({ text }) => text) });
}
