import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { FocuswrightError } from '../../src/base/index.js';
import { exitCodeOf, exitCodes } from '../../src/cli/exit-codes.js';

describe('exit codes', () => {
  it('property: docs/cli/exit-codes.md lists each code with its meaning', () => {
    const page = readFileSync('docs/cli/exit-codes.md', 'utf8');
    const documented = [...page.matchAll(/^\| (\d+) \| (.+) \|$/gm)].map(([, code, meaning]) => ({
      code: Number(code),
      meaning,
    }));
    expect(documented).toEqual(Object.values(exitCodes));
  });

  it.each([
    ['station-invalid', 2],
    ['output-exists', 2],
    ['port-in-use', 2],
    ['camera-link-lost', 3],
    ['cancelled', 130],
  ] as const)('closed form: %s ends with %d', (code, expected) => {
    expect(exitCodeOf(new FocuswrightError(code))).toBe(expected);
  });

  it('closed form: anything else is a defect', () => {
    expect(exitCodeOf(new Error('x'))).toBe(70);
  });
});
