// Makes a fresh checkout ready, with nothing but Node and npm: `node scripts/setup.mjs start|test`.
// Packages come from the lock file; the tests also need Debian's Chromium, the DejaVu fonts and Aravis.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const forTests = process.argv[2] === 'test';

function run(command, args) {
  const { status, error } = spawnSync(command, args, { cwd: root, stdio: 'inherit' });
  if (error) throw error;
  return status === 0;
}

function stop(message) {
  process.stderr.write(`setup: ${message}\n`);
  process.exit(1);
}

function installPackages() {
  const stampFile = join(root, 'node_modules', '.focuswright-setup');
  const stamp = createHash('sha256')
    .update(readFileSync(join(root, 'package-lock.json')))
    .update(`${process.version} ${process.platform} ${process.arch}`)
    .digest('hex');
  if (existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp) return;
  process.stderr.write('setup: installing packages from package-lock.json …\n');
  if (!run('npm', ['ci', '--include=dev', '--no-audit', '--no-fund', '--loglevel=error']))
    stop('`npm ci` failed, see above');
  writeFileSync(stampFile, stamp);
}

function onPath(command) {
  return (process.env.PATH ?? '').split(delimiter).some((folder) => existsSync(join(folder, command)));
}

function installDebianPackages() {
  const missing = [];
  if (!onPath('chromium')) missing.push('chromium');
  if (!existsSync('/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf')) missing.push('fonts-dejavu');
  if (!onPath('arv-camera-test-0.8')) missing.push('libaravis-0.8-0', 'aravis-tools');
  if (!onPath('arv-tool-0.8')) missing.push('aravis-tools-cli');
  if (missing.length === 0) return;
  const install = ['apt-get', 'install', '-y', '-qq', '--no-install-recommends', ...missing];
  const byHand = `sudo apt-get update && sudo apt-get install -y --no-install-recommends ${missing.join(' ')}`;
  const isRoot = process.getuid?.() === 0;
  const maySudo = !isRoot && onPath('sudo') && spawnSync('sudo', ['-n', 'true'], { stdio: 'ignore' }).status === 0;
  if (!onPath('apt-get') || !(isRoot || maySudo)) stop(`the tests need ${missing.join(' and ')}; type\n  ${byHand}`);
  process.stderr.write(`setup: installing ${missing.join(' and ')} from Debian …\n`);
  const privileged = (args) => {
    const [command, ...rest] = [...(isRoot ? [] : ['sudo', '-n']), 'env', 'DEBIAN_FRONTEND=noninteractive', ...args];
    return spawnSync(command, rest, { encoding: 'utf8' });
  };
  for (const step of [['apt-get', 'update', '-qq'], install]) {
    const { status, stdout, stderr } = privileged(step);
    if (status !== 0) stop(`\`${step.join(' ')}\` failed\n${stdout ?? ''}${stderr ?? ''}\n  by hand: ${byHand}`);
  }
}

installPackages();
if (forTests) installDebianPackages();
