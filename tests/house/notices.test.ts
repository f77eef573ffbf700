import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));

it('property: THIRD_PARTY_NOTICES lists what is installed for run time, and every direct dependency', () => {
  const { stderr, status } = spawnSync('node', ['scripts/notices.mjs', '--check'], { cwd: root, encoding: 'utf8' });
  expect({ stderr, status }).toEqual({ stderr: '', status: 0 });
  const notices = readFileSync(`${root}/THIRD_PARTY_NOTICES`, 'utf8');
  const { dependencies } = JSON.parse(readFileSync(`${root}/package.json`, 'utf8')) as {
    dependencies: Record<string, string>;
  };
  for (const [name, version] of Object.entries(dependencies)) expect(notices).toContain(`  ${name} ${version} (`);
});
