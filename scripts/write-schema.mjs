// Writes schema/station.schema.json, and the tables of keys in docs/station/station-file.md, from the
// schema in the code; tests hold both to it. Run as: node --import tsx scripts/write-schema.mjs
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { allowedInWords } from '../src/station/allowed-values.ts';
import { stationJsonSchema } from '../src/station/index.ts';
import { root, step } from './steps.mjs';

const schema = stationJsonSchema();
mkdirSync(join(root, 'schema'), { recursive: true });
writeFileSync(join(root, 'schema/station.schema.json'), `${JSON.stringify(schema, null, 2)}\n`);

const page = join(root, 'docs/station/station-file.md');
const tables = groupTables('', schema).join('\n');
writeFileSync(page, readFileSync(page, 'utf8').replace(/(<!-- keys -->\n)[\s\S]*(<!-- end -->)/, `$1\n${tables}\n$2`));
await step('style', 'biome', ['format', '--write', 'schema']);

function groupTables(path, node) {
  const entries = Object.entries(node.properties ?? {});
  const lines = [
    `### ${path ? `\`${path}\`` : 'Top level'}\n`,
    '| key | unit | allowed | when left out | meaning |',
    '| --- | --- | --- | --- | --- |',
    ...entries.map(([key, child]) => keyRow(key, child, node.required?.includes(key))),
    '',
  ];
  const groups = entries.filter(([, child]) => child.properties);
  return [lines.join('\n'), ...groups.flatMap(([key, child]) => groupTables(path ? `${path}.${key}` : key, child))];
}

function keyRow(key, node, required) {
  const group = node.properties !== undefined;
  const unit = node.unit ?? node.items?.unit ?? node.anyOf?.[0]?.unit ?? '';
  const allowed = group ? 'a group, below' : allowedInWords(node);
  const missing = required
    ? 'an error'
    : group
      ? 'its defaults'
      : node.default === undefined
        ? '–'
        : String(node.default);
  const meaning = [node.anyOf?.[0]?.description, node.description].filter(Boolean).join('; ');
  return `| \`${key}\` | ${unit} | ${allowed} | ${missing} | ${meaning} |`;
}
