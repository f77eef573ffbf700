import type { PlacedMessage } from '../station-problem.js';
import { parseYamlText } from '../yaml-text.js';
import { type CheckedPart, checkPart } from './checked-part.js';
import { type PartKind, partKindNames, partKinds } from './part-kinds.js';

const lists = partKindNames.map((kind) => partKinds[kind].list);

/** Parts of one YAML file: `format: 1` and lists of parts by kind. */
export function partsFromYaml(text: string): { parts: CheckedPart[]; problems: PlacedMessage[] } {
  const only = (message: string) => ({ parts: [], problems: [{ line: 1, column: 1, keyPath: '', message }] });
  if (text.trim() === '')
    return only(`the file is empty; write format: 1 and at least one list of ${lists.join(', ')}`);
  const parsed = parseYamlText(text);
  if (parsed.kind === 'malformed') return { parts: [], problems: parsed.problems };
  const value: unknown = parsed.document.toJS();
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    return only(`the file is not a group of keys; write format: 1 and at least one list of ${lists.join(', ')}`);
  }
  const parts: CheckedPart[] = [];
  const problems: PlacedMessage[] = [...parsed.duplicates];
  const { format, ...groups } = value as Record<string, unknown>;
  const placeOf = (path: (string | number)[]) => {
    const node = parsed.document.getIn(path, true) as { range?: [number, number, number] | null } | undefined;
    return parsed.placeOf(node?.range?.[0] ?? 0);
  };
  const problem = (path: (string | number)[], message: string) =>
    problems.push({ ...placeOf(path), keyPath: String(path[0] ?? ''), message });
  if (format === undefined) problem([], 'format is missing: version of this file format; give 1');
  else if (format !== 1)
    problem(['format'], `format is ${String(format)}; allowed: 1; this version reads format 1 alone`);
  for (const [key, items] of Object.entries(groups)) {
    const kind = partKindNames.find((name) => partKinds[name].list === key);
    if (!kind) problem([key], `${key} is not a known key; keys allowed here: format, ${lists.join(', ')}`);
    else if (!Array.isArray(items))
      problem([key], `${key} is not a list; write one "- name: …" for each ${partKinds[kind].words}`);
    else for (const [i, item] of items.entries()) add(kind, item, [key, i]);
  }
  return { parts, problems };

  function add(kind: PartKind, item: unknown, path: (string | number)[]): void {
    const checked = checkPart({
      kind,
      value: item,
      path,
      source: parsed as Extract<typeof parsed, { kind: 'parsed' }>,
    });
    problems.push(...checked.problems);
    if (!checked.part) return;
    const place = { ...placeOf([...path, 'name']), keyPath: `${path[0]}[${path[1]}].name`, message: '' };
    parts.push({ kind, part: checked.part, place });
  }
}
