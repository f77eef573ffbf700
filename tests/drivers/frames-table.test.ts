import { describe, expect, it } from 'vitest';
import { FocuswrightError } from '../../src/base/index.js';
import { readFramesTable } from '../../src/drivers/recorded/frames-table.js';

const read = (text: string) => readFramesTable(text, { file: 'frames.csv' });

function problemsOf(text: string): FocuswrightError {
  try {
    read(text);
  } catch (error) {
    if (error instanceof FocuswrightError) return error;
    throw error;
  }
  throw new Error('was read');
}

const row = {
  file: 'a.png',
  focalPowerDpt: 0.5,
  workingDistanceMm: 340,
  temperatureDegC: 25.5,
  exposureMs: 2,
  source: null,
  line: 2,
};

describe('frames.csv', () => {
  it('closed form: any order of columns, further columns ignored, optional ones may be empty or missing', () => {
    expect(
      read('exposureMs,file,note,workingDistanceMm,focalPowerDpt,temperatureDegC\n2,a.png,"x, y",340,0.5,25.5\n'),
    ).toEqual([row]);
    expect(read('file,focalPowerDpt,workingDistanceMm,temperatureDegC\na.png,0.5,340,\n')).toEqual([
      { ...row, temperatureDegC: null, exposureMs: null },
    ]);
  });

  it('closed form: byte-order mark, CRLF, blank lines, semicolons with decimal commas', () => {
    const text =
      '\uFEFFfile;focalPowerDpt;workingDistanceMm;temperatureDegC;exposureMs\r\n\r\na.png;0,5;340;25,5;2\r\n';
    expect(read(text)).toMatchObject([{ ...row, line: expect.any(Number) }]);
  });

  it.each([
    ['', /column file is missing/],
    ['file,workingDistanceMm\na.png,340', /column focalPowerDpt is missing; found: file, workingDistanceMm/],
    [
      'file,focalPower,workingDistanceMm\na.png,1,340',
      /focalPowerDpt is missing \(is it "focalPower"\? name it focalPowerDpt/,
    ],
    ['file,focalPowerDpt,distance_mm\na.png,1,340', /workingDistanceMm is missing \(is it "distance_mm"/],
    [
      'file,focalPowerDpt,workingDistanceMm\na.png,1 dpt,340',
      /line 2: focalPowerDpt is "1 dpt"; allowed: -50 … 50 dpt, a plain number/,
    ],
    ['file,focalPowerDpt,workingDistanceMm\na.png,NaN,340', /focalPowerDpt is "NaN"/],
    ['file,focalPowerDpt,workingDistanceMm\na.png,Infinity,340', /focalPowerDpt is "Infinity"/],
    ['file,focalPowerDpt,workingDistanceMm\na.png,1,-340', /workingDistanceMm is "-340"; allowed: 0.001 … 1000000 mm/],
    ['file,focalPowerDpt,workingDistanceMm\na.png,,340', /focalPowerDpt is empty/],
    ['file,focalPowerDpt,workingDistanceMm\n,1,340', /line 2: file is empty/],
    ['file,focalPowerDpt,workingDistanceMm\na.png,1', /line 2: 2 cells, but the header has 3/],
    ['file,focalPowerDpt,workingDistanceMm\na.png,1,340\nb.png,x,340\nc.png,y,340', /line 3[\s\S]*line 4/],
    ['file,focalPowerDpt,workingDistanceMm\n"a.png,1,340', /[Qq]uote/],
  ])('refuses %j', (text, message) => {
    const error = problemsOf(text);
    expect(error.code).toBe('frames-table-invalid');
    expect(error.message).toMatch(message);
  });

  it('refuses a table with a header and no rows as empty', () => {
    expect(problemsOf('file,focalPowerDpt,workingDistanceMm\n').code).toBe('frames-folder-empty');
  });

  it('refuses a bad row at its true line, blank lines before it counted', () => {
    expect(problemsOf('file,focalPowerDpt,workingDistanceMm\na.png,0,300\n\n\nb.png,much,300\n').message).toContain(
      'line 5: focalPowerDpt is "much"',
    );
  });
});
