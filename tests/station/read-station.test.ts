import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FocuswrightError } from '../../src/base/index.js';
import { checkStation, readStation } from '../../src/station/index.js';
import { demoYaml, glazeLineWith } from './demo-stations.js';

const fileName = 'glaze-line.yaml';
const problemsIn = (yaml: string): string[] => {
  const checked = checkStation(yaml, { fileName });
  return checked.kind === 'valid' ? [] : checked.problems.map(({ text }) => text);
};

describe('readStation', () => {
  it('reference: the demonstration station, with defaults filled in', () => {
    const station = readStation(demoYaml('glaze-line'), { fileName });
    expect(station.task.nearMm).toBe(340);
    expect(station.controls.compensateTemperature).toBe(false);
    expect(station.parts.spacer.tolerance.lengthMm).toBe(0.02);
  });

  it.each([
    // value out of range, with its line
    [
      'nearMm: 340 ',
      'nearMm: -5 ',
      /^glaze-line\.yaml:8: task\.nearMm is -5; allowed: > 0 mm and ≤ 100000 mm; it is the nearest working distance/,
    ],
    [
      'quantumEfficiency: 0.6',
      'quantumEfficiency: 60',
      /:28: parts\.sensor\.quantumEfficiency is 60; allowed: > 0 and ≤ 1/,
    ],
    [
      'widthPx: 1280',
      'widthPx: 1280.5',
      /parts\.sensor\.widthPx is 1280\.5; allowed: a whole number ≥ 1 px and ≤ 30000 px/,
    ],
    ['bitDepth: 8', 'bitDepth: 9', /bitDepth is 9; allowed: 8, 10 or 12/],
    [
      'tunableLensAt: object-side',
      'tunableLensAt: front',
      /tunableLensAt is "front"; allowed: object-side, at-stop or image-side/,
    ],
    [
      'station: glaze-line',
      'station: Glaze Line',
      /:2: station is "Glaze Line"; allowed: lower-case letters, digits and hyphens/,
    ],
    ['format: 1', 'format: 2', /:3: format is 2; allowed: 1; this version reads format 1 alone/],
    ['invented: true', 'invented: yes', /invented is "yes"; allowed: true or false/],
    // not a number
    ['nearMm: 340 ', 'nearMm: .nan ', /task\.nearMm is \.nan \(not a number\); allowed: > 0 mm/],
    ['farMm: 545 ', 'farMm: .inf ', /task\.farMm is \.inf \(infinite\); allowed: > 0 mm/],
    ['nearMm: 340 ', 'nearMm: 340 mm ', /task\.nearMm is "340 mm"; .*write 340: the unit \(mm\) is in the key/],
    ['nearMm: 340 ', 'nearMm: 34 cm ', /task\.nearMm is "34 cm"; .*write 340: the unit \(mm\) is in the key/],
    ['contrastNeeded: 0.2', 'contrastNeeded: 20%', /contrastNeeded is "20%"; .*write 0\.2: a number without quotes/],
    ['exposureMs: 0.6', "exposureMs: '0,6'", /controls\.exposureMs is "0,6"; .*write 0\.6/],
    ['nearMm: 340 ', 'nearMm: near ', /task\.nearMm is "near"; .*write a number without quotes or unit/],
    ['nearMm: 340 ', 'nearMm: ', /:8: task\.nearMm is empty; allowed: > 0 mm/],
    [
      'ringDistanceMm: 560',
      'ringDistanceMm: infinity',
      /ringDistanceMm is "infinity"; allowed: > 0 mm and ≤ 1000000 mm, or null/,
    ],
    ['fNumber: 4', 'fNumber: [4, 8]', /layout\.fNumber is a list of 2; allowed: ≥ 0\.5 and ≤ 64/],
    // keys
    ['  farMm: 545 ', '  # ', /:6: task\.farMm is missing: farthest working distance; give > 0 mm and ≤ 100000 mm/],
    [
      'nearMm: 340 ',
      'nearCm: 34 ',
      /:8: task\.nearCm is not a known key; did you mean nearMm \(in mm\)\? A key’s ending says its unit/,
    ],
    ['nearMm: 340 ', 'nearM: 0.34 ', /task\.nearM is not a known key; did you mean nearMm \(in mm\)/],
    ['nearMm: 340 ', 'near_mm: 340 ', /task\.near_mm is not a known key; did you mean nearMm \(in mm\)/],
    ['nearMm: 340 ', 'near: 340 ', /task\.near is not a known key; did you mean nearMm \(in mm\)/],
    [
      'nearMm: 340 ',
      'workingDistance: 340 ',
      /task\.workingDistance is not a known key; look at task\.nearMm \(in mm\) or task\.farMm \(in mm\)/,
    ],
    ['cycleTimeMs: 900', 'cyleTimeMs: 900', /task\.cyleTimeMs is not a known key; did you mean cycleTimeMs \(in ms\)/],
    [
      '  cycleTimeMs: 900',
      '  cycleTimeMs: 900\n  exposureMs: 3',
      /:17: task\.exposureMs is not a known key; it belongs in controls/,
    ],
    [
      'station: glaze-line',
      'station: glaze-line\ncustomer: x',
      /:3: customer is not a known key; keys allowed here: station, format/,
    ],
    ['nearMm: 340 ', 'nearMm: 340\n  nearMm: 341 ', /:9: the key nearMm is written twice in one group/],
    ['station: glaze-line', 'station: glaze-line\n__proto__: {a: 1}', /:3: __proto__ is not a known key/],
    // relations
    [
      'nearMm: 340 ',
      'nearMm: 600 ',
      /:9: task\.farMm is 545 mm; must be greater than nearMm \(600 mm\); are the two swapped\?/,
    ],
    [
      'temperatureMinDegC: 18',
      'temperatureMinDegC: 48',
      /task\.temperatureMaxDegC is 38 °C; must not be less than temperatureMinDegC \(48 °C\); are the two swapped/,
    ],
    [
      'powerMinDpt: -2',
      'powerMinDpt: 5',
      /parts\.tunableLens\.powerMaxDpt is 3 dpt; must be greater than powerMinDpt \(5 dpt\); are the two swapped/,
    ],
    [
      'fNumberMin: 1.8',
      'fNumberMin: 22',
      /parts\.fixedLens\.fNumberMax is 16; must not be less than fNumberMin \(22\)/,
    ],
    [
      'parkPowerDpt: 0',
      'parkPowerDpt: 4',
      /controls\.parkPowerDpt is 4 dpt; must lie inside the station’s limits \(-2 … 3 dpt\)/,
    ],
    [
      'parkPowerDpt: 0',
      'powerMaxDpt: 4',
      /controls\.powerMaxDpt is 4 dpt; must not be above the lens’s own limit \(3 dpt\)/,
    ],
    [
      'parkPowerDpt: 0',
      'powerMinDpt: 1\n  powerMaxDpt: 0.5',
      /controls\.powerMaxDpt is 0\.5 dpt; must be greater than the other limit \(1 dpt\)/,
    ],
    ['fNumber: 4', 'fNumber: 22', /layout\.fNumber is 22; must lie inside the fixed lens’s range \(1\.8 … 16\)/],
    [
      'ringDistanceMm: 560',
      'ringDistanceMm: 12',
      /layout\.ringDistanceMm is 12 mm; must be greater than the fixed lens’s focal length \(16 mm\)/,
    ],
    [
      'blurDiscMaxPx: 1.5',
      'planesMm: [400, 700]',
      /:14: task\.planesMm\[1\] is 700 mm; must lie between nearMm and farMm \(340 … 545 mm\)/,
    ],
    [
      'tunableLensAt: object-side',
      'tunableLensAt: at-stop',
      /parts\.fixedLens\.groups is needed when tunableLensAt is at-stop/,
    ],
    [
      'tunableLensAt: object-side',
      'tunableLensAt: image-side',
      /layout cannot be built: gapMm is 22 mm; allowed: < 16\.47\d* mm/,
    ],
  ])('refuses %j → %j, naming place, value, allowed range and remedy', (passage, replacement, message) => {
    expect(problemsIn(glazeLineWith(passage, replacement))).toEqual(
      expect.arrayContaining([expect.stringMatching(message)]),
    );
  });

  it.each([
    ['an empty file', '', /:1: the file is empty; write at least station, format/],
    ['a file of comments', '# nothing\n', /:1: the file is .*; allowed: a group of keys: station, format/],
    ['a list at the top', '- station: x\n', /:1: the file is a list of 1; allowed: a group of keys: station, format/],
    ['a text at the top', 'hello', /:1: the file is "hello"; allowed: a group of keys/],
    ['a tab', 'station: x\ntask:\n\tnearMm: 3\n', /:3: a tab is used for indentation; indent with spaces/],
    ['an open bracket', 'station: x\ntask: {nearMm: 3\n', /:3: .*check indentation and brackets/],
    ['an open quote', 'station: "x\n', /:\d: .*close the quote or bracket/],
    [
      'a colon in plain text',
      'station: x\ntask:\n  description: find: pinholes\n',
      /:3: .*put text that holds ": " in quotes/,
    ],
    ['a reserved character', 'station: @x\n', /:1: .*put the text in quotes/],
    ['two documents', 'station: x\n---\nstation: y\n', /:2: a second document begins/],
    ['a tag', 'station: !!binary aGk=\n', /:1: .*tag/],
    ['an own tag', 'station: !thing x\n', /:1: .*tags are not used in a station file/],
    ['an unknown alias', 'station: *x\n', /:1: anchors \(&\) and aliases \(\*\) are not used/],
    ['bytes that are no text', 'PNG\r\n\u001a\n\0\0\0', /:2: the file holds bytes that are not UTF-8 text/],
    ['bytes read as UTF-8 that were not', 'station: gl\ufffdze\n', /:1: the file holds bytes that are not UTF-8 text/],
    ['a very large file', `station: ${'x'.repeat(200_001)}`, /:1: the file has 200010 characters; allowed: ≤ 200000/],
    ['brackets without end', `station: ${'['.repeat(50_000)}`, /:1: more than 10 nested brackets/],
    ['lists in lists without end', '- '.repeat(50_000), /:1: indented by more than 60 characters/],
    ['keys in keys without end', '? '.repeat(50_000), /:1: indented by more than 60 characters/],
    ['indentation without end', `a:\n${' '.repeat(9000)}b: 1`, /:2: indented by more than 60 characters/],
  ])('refuses %s with its line and a remedy', (_, yaml, message) => {
    expect(problemsIn(yaml)).toEqual(expect.arrayContaining([expect.stringMatching(message)]));
  });

  it('refuses an alias bomb without unfolding it', () => {
    const levels = Array.from({ length: 9 }, (_, i) => `l${i + 1}: &l${i + 1} [${Array(9).fill(`*l${i}`).join(', ')}]`);
    const problems = problemsIn(`l0: &l0 [a]\n${levels.join('\n')}\n`);
    expect(problems[0]).toMatch(
      /:1: anchors \(&\) and aliases \(\*\) are not used in a station file; write the value out/,
    );
  });

  it('property: lists all problems of a file, in the order of its lines', () => {
    const yaml = glazeLineWith('nearMm: 340 ', 'nearM: 0.34 ')
      .replace('farMm: 545 ', 'farMm: .nan ')
      .replace('bitDepth: 8', 'bitDepth: "8"')
      .replace('parkPowerDpt: 0', 'parkPowerDpt: 9');
    const problems = problemsIn(yaml);
    expect(problems.map((text) => text.replace(/^.*?:(\d+): (\S+) .*$/, '$1 $2'))).toEqual([
      '6 task.nearMm',
      '8 task.nearM',
      '9 task.farMm',
      '27 parts.sensor.bitDepth',
      '87 controls.parkPowerDpt',
    ]);
  });

  it('refuses with the catalogue’s error, its file and problems', () => {
    const act = () => readStation(glazeLineWith('nearMm: 340 ', 'nearMm: -5 '), { fileName: 'dir/a.yaml' });
    expect(act).toThrow(FocuswrightError);
    expect(act).toThrow(
      expect.objectContaining({
        code: 'station-invalid',
        details: { file: 'dir/a.yaml', problems: [expect.stringContaining('dir/a.yaml:8: task.nearMm is -5;')] },
      }),
    );
    expect(() => readStation('a: [', { fileName })).toThrow(expect.objectContaining({ code: 'station-malformed' }));
  });

  it('degenerate: a byte order mark, Windows line ends and comments are read', () => {
    const yaml = `\ufeff${demoYaml('glaze-line').replaceAll('\n', '\r\n')}`;
    expect(readStation(yaml, { fileName })).toEqual(readStation(demoYaml('glaze-line'), { fileName }));
  });

  it('property: any text is answered, never thrown at', () => {
    const piece = fc.constantFrom(
      'task:',
      '\n',
      '  ',
      '- ',
      'nearMm: 3',
      '{',
      '}',
      '[',
      ']',
      '&a ',
      '*a',
      '"',
      "'",
      '#',
      '|',
      '>',
      '? ',
      ': ',
      '!x ',
      '%',
      '\t',
      '~',
      '---\n',
      '<<: ',
    );
    fc.assert(
      fc.property(fc.array(fc.oneof(piece, fc.string({ maxLength: 4 })), { maxLength: 40 }), (pieces) => {
        const checked = checkStation(pieces.join(''), { fileName });
        expect(checked.kind).not.toBe('valid');
        if (checked.kind !== 'valid') expect(checked.problems.length).toBeGreaterThan(0);
      }),
      { numRuns: 300 },
    );
  });

  it('property: any one value of the file replaced by nonsense is named in the answer', () => {
    const nonsense = fc.constantFrom('.nan', '-.inf', '"12 mm"', '[]', '{}', '~', 'true', '1e300');
    const lines = demoYaml('glaze-line').split('\n');
    const numeric = lines.flatMap((line, i) => (/^ +(?!ringDistanceMm)\w+: -?[\d.]+/.test(line) ? [i] : []));
    fc.assert(
      fc.property(fc.constantFrom(...numeric), nonsense, (i, value) => {
        const changed = lines.map((line, j) => (j === i ? line.replace(/: .*/, `: ${value}`) : line)).join('\n');
        const key = /\w+/.exec(lines[i]!)![0];
        expect(problemsIn(changed).join('\n')).toContain(key);
      }),
      { numRuns: 200 },
    );
  });
});
