import { describe, expect, it } from 'vitest';
import { pureLayers } from './layers.js';
import { impurities } from './pure-rows.js';
import { sourcesBelow } from './sources.js';

describe('pure rows', () => {
  it('property: no clock, no unseeded chance, no platform', () => {
    const sources = sourcesBelow('src').filter(({ path }) => pureLayers.includes(path.split('/')[1]));
    expect(sources.length).toBeGreaterThan(10);
    expect(impurities(sources)).toEqual([]);
  });

  it.each([
    ['const x = Math.random();', 'Math.random'],
    ['const pick = Math.random;', 'Math.random'],
    ['const t = Date.now();', 'Date.now'],
    ['const t = new Date(0);', 'new Date('],
    ['const v = process.version;', 'process.version'],
    ['console.log(1);', 'console.log'],
    ['setTimeout(() => {}, 1);', 'setTimeout('],
    ['const t = performance.now();', 'performance.now'],
    ["import { join } from 'node:path';", 'node:path'],
  ])('refuses a planted %s', (line, use) => {
    expect(impurities([{ path: 'src/optics/a.ts', text: `// first\n${line}` }])).toEqual([
      `src/optics/a.ts:2 uses ${use}`,
    ]);
  });

  it('degenerate: words in comments, texts and names are not uses', () => {
    const text =
      '// Math.random() and new Date()\nconst note = "Date.now()";\nconst process = (x: number) => x;\nprocess(1);';
    expect(impurities([{ path: 'src/optics/a.ts', text }])).toEqual([]);
  });
});
