import { posix } from 'node:path';
import { importsOf, type Source } from './sources.js';

/** Row of each layer; an import goes to a lower row. */
const rows: Record<string, number> = {
  base: 0,
  optics: 1,
  image: 1,
  station: 2,
  devices: 2,
  protocol: 2,
  planning: 3,
  procedures: 3,
  twin: 3,
  drivers: 3,
  store: 3,
  report: 3,
  app: 4,
  server: 5,
  cli: 5,
  web: 5,
};

export const pureLayers = Object.keys(rows).filter(
  (layer) => rows[layer] <= 3 && layer !== 'drivers' && layer !== 'store',
);

/** Layers that only `app` may name. */
const plugs = new Set(['drivers', 'twin', 'store']);

/** What the programs that people start may name directly, besides themselves; anything else comes through `app`. */
const direct = ['base', 'optics', 'image', 'station', 'protocol', 'planning', 'report'];
const onlyThese: Record<string, Set<string>> = {
  web: new Set(direct),
  cli: new Set([...direct, 'app', 'server']),
};

/** The rule that an import from one layer to another breaks, in words, or null. */
export function brokenRule(from: string, to: string): string | null {
  if (from === to) return null;
  if (!(from in rows)) return `"${from}" is not a layer; layers: ${Object.keys(rows).join(', ')}`;
  if (!(to in rows)) return `"${to}" is not a layer; layers: ${Object.keys(rows).join(', ')}`;
  if (plugs.has(to) && from !== 'app') return `only app may import ${to}`;
  if ((from === 'image' && to === 'optics') || (from === 'cli' && to === 'server')) return null;
  if (rows[to] > rows[from]) return `an import goes down, never up (${from} is below ${to})`;
  if (rows[to] === rows[from]) return `an import never goes sideways (${from} and ${to} share a row)`;
  if (onlyThese[from]?.has(to) === false) return `${from} may import only ${[...onlyThese[from]].join(', ')}`;
  return null;
}

/** Every import in `sources` that breaks a layer rule, as `file:line imports "…": rule`. */
export function layerViolations(sources: readonly Source[]): string[] {
  return sources.flatMap((source) =>
    importsOf(source).flatMap(({ line, specifier }) => {
      const rule = ruleFor(source.path, specifier);
      return rule ? [`${source.path}:${line} imports "${specifier}": ${rule}`] : [];
    }),
  );
}

function ruleFor(path: string, specifier: string): string | null {
  const from = layerOf(path);
  if (from === null) return 'a source file lives in a layer folder';
  if (specifier.startsWith('node:') && pureLayers.includes(from)) return `${from} is pure: no Node modules`;
  if (specifier.startsWith('node:') && from === 'web') return 'web runs in the browser: no Node modules';
  if (!specifier.startsWith('.')) return null;
  const target = posix.normalize(posix.join(posix.dirname(path), specifier));
  const to = layerOf(target);
  return to === null ? 'an import stays inside src' : brokenRule(from, to);
}

/** `src/optics/x.ts` → `optics`; null outside a folder of src. */
function layerOf(path: string): string | null {
  return /^src\/([^/]+)\//.exec(path)?.[1] ?? null;
}
