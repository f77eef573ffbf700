import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
let folder: string;

beforeEach(() => {
  mkdirSync(join(root, '.cache'), { recursive: true });
  folder = mkdtempSync(join(root, '.cache', 'closing-line-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Runs the given test files (name → text) in a project of their own; the last line printed and the exit status. */
function lastLineOf(files: Record<string, string>): { line: string; status: number | null } {
  const config = `import { ClosingLineReporter } from '../../tests/house/closing-line-reporter.js';
export default { test: { globals: true, reporters: ['dot', new ClosingLineReporter()] } };`;
  for (const [name, text] of Object.entries({ ...files, 'vitest.config.ts': config }))
    writeFileSync(join(folder, name), text);
  const { stdout, status } = spawnSync('node_modules/.bin/vitest', ['run', '--root', folder], {
    cwd: root,
    encoding: 'utf8',
  });
  return { line: stdout.trimEnd().split('\n').at(-1) ?? '', status };
}

describe('closing line', () => {
  it('closed form: passed and skipped tests', () => {
    const text = "it('a', () => {});\nit('b', () => {});\nit.skip('c', () => {});";
    expect(lastLineOf({ 'a.test.js': text })).toEqual({ line: '2 passed, 0 failed, 1 skipped', status: 0 });
  });

  it('closed form: counts a failed test, an unloadable module, a broken hook and an unhandled error', () => {
    const outcome = lastLineOf({
      'fails.test.js': "it('a', () => {});\nit('b', () => { throw new Error('no'); });",
      'unloadable.test.js': "throw new Error('at load');",
      'hook.test.js': "describe('s', () => { beforeAll(() => { throw new Error('hook'); }); it('c', () => {}); });",
      'unhandled.test.js':
        "it('d', () => { setTimeout(() => { throw new Error('late'); }); return new Promise((r) => setTimeout(r, 50)); });",
    });
    expect(outcome).toEqual({ line: '2 passed, 4 failed, 1 skipped', status: 1 });
  });

  it('degenerate: a run without any test file is a failure', () => {
    expect(lastLineOf({})).toEqual({ line: '0 passed, 1 failed', status: 1 });
  });
});
