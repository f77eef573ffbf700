import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { errorCatalogue, FocuswrightError } from '../../src/base/index.js';
import { sourcesBelow } from '../house/sources.js';

describe('error catalogue', () => {
  const page = readFileSync('docs/errors.md', 'utf8');

  it('property: docs/errors.md says what and remedy of every code, in the order of the catalogue, and no other code', () => {
    const documented = [...page.matchAll(/^## `([a-z-]+)`\n\n(.+)\n\n\*\*Remedy:\*\* (.+)$/gm)].map(
      ([, code, what, remedy]) => ({ code, what, remedy }),
    );
    expect(documented).toEqual(
      Object.entries(errorCatalogue).map(([code, { what, remedy }]) => ({ code, what, remedy })),
    );
  });

  it('property: every code is thrown somewhere in the sources', () => {
    const sources = sourcesBelow('src').filter(({ path }) => path !== 'src/base/errors.ts');
    const unused = Object.keys(errorCatalogue).filter(
      (code) => !sources.some(({ text }) => text.includes(`'${code}'`)),
    );
    expect(unused).toEqual([]);
  });

  it('closed form: the message carries the details, the remedy comes from the catalogue unless a better one is given', () => {
    const plain = new FocuswrightError('port-in-use', { port: 7340 });
    expect(plain.message).toBe('The network port is taken by another program. port: 7340');
    expect(plain.remedy).toBe(errorCatalogue['port-in-use'].remedy);
    expect(new FocuswrightError('port-in-use', {}, { remedy: 'Stop it.' }).remedy).toBe('Stop it.');
  });
});
