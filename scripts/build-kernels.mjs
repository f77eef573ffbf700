// Compiles assembly/<name>.ts (AssemblyScript, SIMD) into src/<layer>/<name>.wasm.ts, which exports the bytes.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { filesBelow, hashOf, root } from './steps.mjs';

/** Kernel → the layer that uses it. */
const kernels = { defocus: 'image', focus: 'image', frame: 'twin', spectrum: 'image', stack: 'image' };

const flags = [
  '--optimizeLevel',
  '3',
  '--shrinkLevel',
  '0',
  '--converge',
  '--enable',
  'simd',
  '--runtime',
  'stub',
  '--noAssert',
];

export async function buildKernels() {
  const names = Object.keys(kernels);
  const { version } = JSON.parse(readFileSync(join(root, 'node_modules/assemblyscript/package.json'), 'utf8'));
  const stamp = hashOf(filesBelow('assembly'), `${version} ${flags.join(' ')}`);
  for (const name of names) {
    const target = join(root, 'src', kernels[name], `${name}.wasm.ts`);
    const head = `// Generated from assembly/${name}.ts by \`npm run build:kernels\`: do not edit. ${stamp}\n`;
    if (existsSync(target) && readFileSync(target, 'utf8').startsWith(head)) continue;
    const bytes = await compile(`assembly/${name}.ts`);
    const text = Buffer.from(bytes).toString('base64');
    writeFileSync(
      target,
      `${head}import { decodeBase64 } from '../base/base64.js';\n\nexport const ${name}Wasm = decodeBase64(\n  '${text}',\n);\n`,
    );
    process.stdout.write(`kernel ${name}: ${bytes.length} bytes\n`);
  }
}

async function compile(source) {
  const { default: asc } = await import('assemblyscript/asc');
  let bytes;
  const { error, stderr } = await asc.main([source, '--outFile', 'kernel.wasm', ...flags], {
    readFile: (name) => (existsSync(join(root, name)) ? readFileSync(join(root, name), 'utf8') : null),
    writeFile: (name, contents) => {
      if (name === 'kernel.wasm') bytes = contents;
    },
    listFiles: () => [],
  });
  if (error) throw new Error(`${source}: ${error.message}\n${stderr.toString()}`);
  return bytes;
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) await buildKernels();
