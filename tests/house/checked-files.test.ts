import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { sourcesBelow } from './sources.js';

/** Files and folders of tests, references, benches and documents that comments name, with the file that names them. */
const named = sourcesBelow('src').flatMap(({ path, text }) =>
  [...text.matchAll(/\b(?:tests|references|bench|docs)\/[\w/.-]*\w/g)].map(([name]) => ({ path, name })),
);

describe('files that comments name', () => {
  it('property: a test, reference or page that a comment of the sources names is there', () => {
    expect(named.length).toBeGreaterThan(100);
    const root = new URL('../../', import.meta.url);
    expect(named.filter(({ name }) => !existsSync(new URL(name, root)))).toEqual([]);
  });
});
