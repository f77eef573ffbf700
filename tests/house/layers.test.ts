import { describe, expect, it } from 'vitest';
import { layerViolations } from './layers.js';
import { sourcesBelow } from './sources.js';

describe('layers', () => {
  it('property: every import in src goes down', () => {
    const sources = sourcesBelow('src');
    expect(sources.length).toBeGreaterThan(10);
    expect(layerViolations(sources)).toEqual([]);
  });

  it.each([
    ['src/base/a.ts', "import { b } from '../optics/b.js';", 'never up (base is below optics)'],
    ['src/optics/a.ts', "export * from '../image/b.js';", 'never goes sideways (optics and image share a row)'],
    ['src/station/a.ts', "import type { B } from '../devices/index.js';", 'never goes sideways'],
    ['src/planning/deep/a.ts', "import { b } from '../../report/b.js';", 'never goes sideways'],
    ['src/procedures/a.ts', "const b = await import('../twin/b.js');", 'only app may import twin'],
    ['src/server/a.ts', "import { b } from '../drivers/b.js';", 'only app may import drivers'],
    ['src/cli/a.ts', "import { b } from '../store/b.js';", 'only app may import store'],
    ['src/cli/a.ts', "import { b } from '../procedures/b.js';", 'cli may import only'],
    ['src/web/a.tsx', "let b: import('../app/b.js').B;", 'web may import only'],
    ['src/web/a.tsx', "import { b } from '../server/b.js';", 'never goes sideways'],
    ['src/app/a.ts', "import { b } from '../cli/b.js';", 'never up'],
    ['src/twin/a.ts', "import { readFileSync } from 'node:fs';", 'twin is pure: no Node modules'],
    ['src/web/a.ts', "import { join } from 'node:path';", 'no Node modules'],
    ['src/twin/a.ts', "import { b } from '../../tests/b.js';", 'an import stays inside src'],
    ['src/helpers/a.ts', "import { b } from '../base/b.js';", '"helpers" is not a layer'],
  ])('refuses a planted import in %s: %s', (path, line, rule) => {
    const [found, ...more] = layerViolations([{ path, text: `// first line\n${line}\n` }]);
    expect(more).toEqual([]);
    expect(found).toMatch(new RegExp(`^${path}:2 imports "`));
    expect(found).toContain(rule);
  });

  it.each([
    ['src/image/a.ts', "import { b } from '../optics/b.js';"],
    ['src/app/a.ts', "import { b } from '../twin/b.js';"],
    ['src/cli/a.ts', "import { b } from '../app/b.js';"],
    ['src/web/a.ts', "import { b } from '../planning/b.js';"],
    ['src/report/a.ts', "import { line } from 'd3-shape';"],
    ['src/optics/a.ts', "// import { b } from '../app/b.js';\nconst text = \"import '../app/b.js'\";"],
  ])('property: %s may hold %s', (path, text) => {
    expect(layerViolations([{ path, text }])).toEqual([]);
  });
});
