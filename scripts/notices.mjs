// Writes THIRD_PARTY_NOTICES: every package that Focuswright needs at run time, with its licence and licence text.
// `--check` compares instead of writing. Licence texts come from the installed packages.
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root } from './steps.mjs';

const target = join(root, 'THIRD_PARTY_NOTICES');
const { packages } = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8'));

function licenceText(folder) {
  const file = readdirSync(folder).find((name) => /^(licen[cs]e|copying)/i.test(name));
  return file ? readFileSync(join(folder, file), 'utf8').replaceAll('\r\n', '\n').trim() : null;
}

function notice([path, { version }]) {
  const folder = join(root, path);
  const { name, license, author } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
  const text = licenceText(folder) ?? `Published under ${license}${author ? ` by ${author.name ?? author}` : ''}.`;
  return { title: `${name} ${version} (${license ?? 'see below'})`, text };
}

const notices = Object.entries(packages)
  .filter(
    ([path, entry]) =>
      path !== '' && !entry.dev && !entry.devOptional && !entry.optional && existsSync(join(root, path)),
  )
  .map(notice)
  .sort((a, b) => (a.title < b.title ? -1 : 1))
  .filter((entry, index, all) => entry.title !== all[index - 1]?.title);

const rule = '-'.repeat(80);
const content = `Focuswright uses the following packages at run time.

${notices.map(({ title }) => `  ${title}`).join('\n')}

${notices.map(({ title, text }) => `${rule}\n${title}\n\n${text}\n`).join('\n')}`;

if (!process.argv.includes('--check')) writeFileSync(target, content);
else if (!existsSync(target) || readFileSync(target, 'utf8') !== content) {
  process.stderr.write('THIRD_PARTY_NOTICES is out of date: run `npm run notices`\n');
  process.exit(1);
}
