// Builds dist/: kernels, library and programs (tsc), web application (vite). `--if-stale` skips what is already built.
import { chmodSync, cpSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
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

const stampFile = join(root, 'dist', '.built');
const stamp = hashOf([...sources(), ...settings], process.version);
const fresh = existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp;
if (!(fresh && process.argv.includes('--if-stale'))) {
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
