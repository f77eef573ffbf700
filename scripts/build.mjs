// Builds dist/: kernels, library and programs (tsc), web application (vite). `--if-stale` skips what is already built.
import { chmodSync, cpSync, existsSync, mkdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { buildKernels } from './build-kernels.mjs';
import { filesBelow, hashOf, root, step } from './steps.mjs';

const settings = [
  'package-lock.json',
  'tsconfig.base.json',
  'tsconfig.pure.json',
  'tsconfig.node.json',
  'vite.config.ts',
];

function sources() {
  const generated = /\.wasm\.ts$/;
  return ['src', 'assembly', 'scripts'].flatMap(filesBelow).filter((path) => !generated.test(path));
}

/** Data files beside the sources (tables, schemas, fonts) go along; the web application has its own build. */
function copyData() {
  for (const path of filesBelow('src')) {
    if (/\.(tsx?|json|md)$/.test(path) || path.startsWith('src/web/')) continue;
    const target = join(root, path.replace(/^src/, 'dist'));
    mkdirSync(dirname(target), { recursive: true });
    cpSync(join(root, path), target);
  }
}

/**
 * npm links the commands of dependencies, not the checkout's own. `npx` then links it in a cache of its own, which stays
 * broken for good if it was asked before the first build; a link of ours comes first. Windows needs none of this.
 */
function linkOwnCommand() {
  const link = join(root, 'node_modules', '.bin', 'focuswright');
  if (process.platform !== 'win32' && !existsSync(link)) symlinkSync('../../dist/cli/main.js', link);
}

const stampFile = join(root, 'dist', '.built');
const stamp = hashOf([...sources(), ...settings], process.version);
const fresh = existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp;
if (!(fresh && process.argv.includes('--if-stale'))) {
  const why = existsSync(stampFile) ? 'the sources have changed' : 'the first time this takes some minutes';
  process.stdout.write(`building programs and page with the TypeScript compiler and vite; ${why} …\n`);
  await buildKernels();
  const built = await Promise.all([
    step('build', 'tsc', ['-b', 'tsconfig.node.json']),
    step('build web', 'vite', ['build']),
  ]);
  if (built.includes(false)) process.exit(1);
  copyData();
  chmodSync(join(root, 'dist/cli/main.js'), 0o755);
  writeFileSync(stampFile, stamp);
}
linkOwnCommand();
