import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { loadParts, partsTable } from '../../../src/app/index.js';
import { readParts, readSearchTask } from '../../../src/station/index.js';

const blocks = (page: string, language: string) =>
  [...readFileSync(page, 'utf8').matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\``, 'gm'))].map(
    ([, text]) => text!,
  );

describe('pages on parts and search', () => {
  it('property: the YAML and the table of the parts page are read, and hold the same spacer-and-lens library', () => {
    const [yaml] = blocks('docs/station/parts.md', 'yaml');
    const [csv] = blocks('docs/station/parts.md', 'csv');
    const fromYaml = readParts([{ fileName: 'a.yaml', yaml: yaml! }]);
    const fromCsv = readParts([{ fileName: 'a.csv', table: partsTable(csv!, 'a.csv') }]);
    expect(fromYaml.fixedLenses[0]!.focalLengthMm).toBe(fromCsv.fixedLenses[0]!.focalLengthMm);
    expect(fromCsv.spacers[0]!.lengthMm).toBe(5);
  });

  it('property: the task of the search page is read', () => {
    const [yaml] = blocks('docs/planning/search.md', 'yaml');
    const { task, light } = readSearchTask(yaml!, { fileName: 'task.yaml' });
    expect(task.nearMm).toBe(340);
    expect(light).toMatchObject({ irradianceUwPerCm2: 40, workingFNumber: 4 });
  });

  it('property: the page tells how many parts ship', async () => {
    const count = Object.values(await loadParts()).flat().length;
    expect(readFileSync('docs/station/parts.md', 'utf8')).toContain(`${count} generic parts`);
  });

  it('refuses a path without parts, with its reason', async () => {
    await expect(loadParts('no-such-folder')).rejects.toThrow('no such file or folder');
    await expect(loadParts('stations/glaze-line.yaml')).rejects.toThrow('station is not a known key');
    await expect(loadParts('package.json')).rejects.toThrow('not a .yaml or .csv file');
    await expect(loadParts('tests/house')).rejects.toThrow('no .yaml or .csv file in it');
  });
});
