import { describe, expect, it } from 'vitest';
import { partsTable } from '../../../src/app/index.js';
import { checkParts, readParts } from '../../../src/station/index.js';

const spacers = `format: 1
spacers:
  - name: Ring 5 mm
    source: invented
    lengthMm: 5
`;

const problems = (...files: Parameters<typeof checkParts>[0]) => {
  const checked = checkParts(files);
  return checked.kind === 'valid' ? [] : checked.problems.map(({ text }) => text);
};
const ofYaml = (yaml: string) => problems({ fileName: 'own.yaml', yaml });
const ofCsv = (csv: string) => problems({ fileName: 'own.csv', table: partsTable(csv, 'own.csv') });

describe('reading a parts library', () => {
  it('property: YAML and table give the same parts, defaults filled in', () => {
    const table = partsTable(
      'kind,name,source,lengthMm,tolerance.lengthMm,widthPx\nspacer,Ring 5 mm,invented,5,,\n',
      'own.csv',
    );
    const fromTable = readParts([{ fileName: 'own.csv', table }]);
    expect(fromTable).toEqual(readParts([{ fileName: 'own.yaml', yaml: spacers }]));
    expect(fromTable.spacers).toEqual([
      { name: 'Ring 5 mm', source: 'invented', lengthMm: 5, tolerance: { lengthMm: 0.02 } },
    ]);
  });

  it('property: a semicolon table takes a decimal comma', () => {
    const table = partsTable('\ufeffkind;name;source;lengthMm\nspacer;"Ring; thin";invented;0,5\n', 'own.csv');
    expect(readParts([{ fileName: 'own.csv', table }]).spacers[0]).toMatchObject({ name: 'Ring; thin', lengthMm: 0.5 });
  });

  it.each([
    ['', 'own.yaml:1: the file is empty; write format: 1 and at least one list of sensors, fixedLenses'],
    ['format: 2\nspacers: []', 'own.yaml:1: format is 2; allowed: 1'],
    ['spacers: []', 'own.yaml:1: format is missing'],
    ['format: 1\nrings: []', 'own.yaml:2: rings is not a known key; keys allowed here: format, sensors'],
    ['format: 1\nspacers: 5', 'own.yaml:2: spacers is not a list'],
    [
      spacers.replace('lengthMm: 5', 'length: 5'),
      'own.yaml:5: spacers[0].length is not a known key; did you mean lengthMm (in mm)?',
    ],
    [
      spacers.replace('lengthMm: 5', 'lengthMm: -5'),
      'own.yaml:5: spacers[0].lengthMm is -5; allowed: ≥ 0 mm and ≤ 1000 mm',
    ],
    [spacers.replace('    lengthMm: 5\n', ''), 'own.yaml:3: spacers[0].lengthMm is missing'],
    [spacers.replace('lengthMm: 5', 'lengthMm: 5 mm'), 'own.yaml:5: spacers[0].lengthMm is "5 mm"; allowed'],
    [
      `${spacers}  - name: Ring 5 mm\n    source: own\n    lengthMm: 6\n`,
      'own.yaml:6: spacers[1].name is "Ring 5 mm", a name that the spacer at own.yaml:3 has',
    ],
  ])('refuses %#: a file with one mistake, by line, key, value, allowed range and remedy', (yaml, expected) => {
    expect(ofYaml(yaml).join('\n')).toContain(expected);
  });

  it.each([
    ['', 'own.csv:1: the column kind is missing'],
    ['kind,name,source,lengthMm', 'own.csv:1: the table has no rows'],
    [
      'name,source,lengthMm\nR,own,5',
      'own.csv:1: the column kind is missing; give sensor, fixedLens, tunableLens, light or spacer',
    ],
    [
      'kind,name,source,length\nspacer,R,own,5',
      'own.csv:1: the column length is not a key of any part; did you mean lengthMm',
    ],
    ['kind,name,name,source\nspacer,R,R,own', 'own.csv:1: the column name is there twice'],
    ['kind,name,source,lengthMm\nring,R,own,5', 'own.csv:2: kind is "ring"; allowed: sensor, fixedLens'],
    ['kind,name,source,lengthMm\nspacer,R,own', 'own.csv:2: the row has 3 cells, the heading 4'],
    [
      'kind,name,source,lengthMm\nspacer,R,own,5 mm',
      'own.csv:2: lengthMm is "5 mm"; allowed: ≥ 0 mm and ≤ 1000 mm; write 5',
    ],
    ['kind,name,source,lengthMm,widthPx\nspacer,R,own,5,640', 'own.csv:2: widthPx is not a known key'],
    [
      'kind,name,source,lengthMm\nspacer,R,own,5\nspacer,R,own,6',
      'own.csv:3: name is "R", a name that the spacer at own.csv:2 has',
    ],
  ])('refuses %#: a table with one mistake', (csv, expected) => {
    expect(ofCsv(csv).join('\n')).toContain(expected);
  });

  it('refuses limits that are swapped and groups that make another lens', () => {
    const lens = (more: string) =>
      `format: 1\nfixedLenses:\n  - {name: L, source: own, focalLengthMm: 35, fNumberMin: 4, fNumberMax: 16${more}}\n`;
    expect(ofYaml(lens(''))).toEqual([]);
    expect(ofYaml(lens('').replace('fNumberMax: 16', 'fNumberMax: 2'))[0]).toContain('are the two swapped?');
    const groups = ', groups: {frontFocalLengthMm: 80, frontToStopMm: 12, stopToRearMm: 12, rearFocalLengthMm: 80}';
    expect(ofYaml(lens(groups))[0]).toContain('fixedLenses[0].groups contradict the lens');
  });
});
