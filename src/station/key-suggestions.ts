import { orList } from './allowed-values.js';
import { allKeys, type KeyPath, schemaAt } from './json-schema.js';

/** Unit suffixes that keys end in, and ones that people try. Longest first, so that `Mm` is not taken for `M`. */
const suffixes =
  /(DptPerDegC|UwPerCm2|MmPerS|DnPerE|DegC|Dpt|Waves|Mm|Cm|Um|Nm|Ms|Us|Hz|Px|Inch|In|Deg|Rad|Percent|Sec|M|S|E)$/;

/** What to do about a key that a group does not know: the likely key, with its unit, or the keys that are allowed. */
export function unknownKeyRemedy(group: KeyPath, key: string): string {
  const siblings = Object.keys(schemaAt(group)?.properties ?? {});
  const same = siblings.filter((name) => stem(name) === stem(key) || plain(name) === plain(key));
  if (same.length > 0) return `did you mean ${withUnit(group, same)}? A key’s ending says its unit`;

  const moved = allKeys()
    .filter(({ path }) => path.at(-1) === key)
    .sort((a, b) => a.path.length - b.path.length);
  if (moved.length > 0)
    return `it belongs in ${orList(moved.map(({ path }) => path.slice(0, -1).join('.') || 'the top level'))}`;

  const near = closest(siblings, key);
  if (near) return `did you mean ${withUnit(group, [near])}?`;

  const meant = byMeaning(key);
  if (meant.length > 0)
    return `look at ${orList(meant.map((path) => withUnit(path.slice(0, -1), [path.at(-1)!], path.join('.'))))}`;
  return siblings.length > 0 ? `keys allowed here: ${siblings.join(', ')}` : 'remove it';
}

function withUnit(group: KeyPath, names: readonly string[], shown?: string): string {
  return orList(
    names.map((name) => {
      const unit = schemaAt([...group, name])?.unit;
      return `${shown ?? name}${unit ? ` (in ${unit})` : ''}`;
    }),
  );
}

/** Keys whose name and meaning hold every word of the unknown key. */
function byMeaning(key: string): string[][] {
  const words = key
    .replace(suffixes, '')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase()
    .split(/[\s_-]+/)
    .filter((word) => word.length > 2);
  if (words.length === 0) return [];
  return allKeys()
    .filter(({ path, node }) => {
      const text = `${path.at(-1)!.replace(/([a-z])([A-Z])/g, '$1 $2')} ${node.description ?? ''}`.toLowerCase();
      return words.every((word) => text.includes(word));
    })
    .map(({ path }) => path)
    .slice(0, 3);
}

const plain = (name: string) => name.toLowerCase().replace(/[_\s-]/g, '');
const stem = (name: string) => plain(camel(name).replace(suffixes, ''));
const camel = (name: string) => name.replace(/[_\s-]+([A-Za-z])/g, (_, letter: string) => letter.toUpperCase());

function closest(names: readonly string[], key: string): string | null {
  const limit = Math.max(2, Math.floor(key.length / 4));
  const ranked = names
    .map((name) => ({ name, distance: editDistance(plain(name), plain(key)) }))
    .filter(({ distance }) => distance <= limit)
    .sort((a, b) => a.distance - b.distance);
  return ranked[0]?.name ?? null;
}

/** Levenshtein distance: fewest letters inserted, removed or replaced. Long keys count as far without counting. */
function editDistance(a: string, b: string): number {
  if (Math.abs(a.length - b.length) > 10) return Number.POSITIVE_INFINITY;
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next[j] = Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1));
    }
    row = next;
  }
  return row[b.length]!;
}
