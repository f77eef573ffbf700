import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planSharpness } from '../../src/planning/index.js';
import { handoverReportHtml, ledgerRowText, verdictMarks } from '../../src/report/index.js';
import type { CommissionRecord } from '../../src/station/index.js';
import { anyCommission } from './random-record.js';
import { sampleCommission, samplePlan, sampleStation, sampleStationYaml } from './sample-record.js';
import { elementsOf, parseXml, textOf, type XmlElement } from './strict-xml.js';

const reportOf = (commission: CommissionRecord) =>
  handoverReportHtml({
    commission,
    plan: samplePlan,
    sharpness: planSharpness(sampleStation),
    station: sampleStation,
    stationYaml: sampleStationYaml,
    generatedOn: '2026-11-24',
    pictures: [],
  });

const doctype = '<!doctype html>\n';
const parsed = (html: string) => parseXml(html.slice(doctype.length));
const byId = (root: XmlElement, id: string) => elementsOf(root).find((e) => e.attributes.id === id)!;
const plain = (text: string) => text.replaceAll('\u202F', ' ');
const bodyText = (root: XmlElement) => plain(textOf(elementsOf(root).find(({ name }) => name === 'body')!));

const sample = parsed(reportOf(sampleCommission));

describe('handover report', () => {
  it('property: one file that asks for nothing else', () => {
    const html = reportOf(sampleCommission);
    expect(html.startsWith(doctype)).toBe(true);
    const elements = elementsOf(sample);
    expect(elements.some(({ name }) => ['script', 'link', 'img', 'iframe', 'object'].includes(name))).toBe(false);
    expect(elements.flatMap(({ attributes }) => [attributes.src, attributes.href].filter(Boolean))).toEqual([]);
    expect(html).not.toMatch(/url\(|@import/);
  });

  it.each(sampleCommission.ledger.map((row) => [row.key, row] as const))(
    'closed form: the ledger shows %s whole',
    (key, row) => {
      const text = plain(textOf(byId(sample, `row-${key}`)));
      const shown = ledgerRowText(row);
      const numbers = [shown.required, shown.predicted, shown.measured].flatMap((n) => [
        n.value,
        n.uncertainty,
        n.unit,
      ]);
      for (const part of [
        row.title,
        row.reason,
        row.basis,
        row.remedy ?? '',
        verdictMarks[row.verdict].word,
        ...numbers,
      ]) {
        expect(text).toContain(plain(part));
      }
    },
  );

  it('closed form: simulated and invented are said in words, in ledger, figures and on paper', () => {
    const text = bodyText(sample);
    expect(text).toContain('SIMULATED.');
    expect(text).toContain('INVENTED DEMONSTRATION DATA.');
    expect(text).toContain('Measured (simulated)');
    const captions = elementsOf(sample).filter(({ name }) => name === 'figcaption');
    expect(captions.length).toBeGreaterThan(8);
    for (const caption of captions) expect(textOf(caption)).toMatch(/^Figure \d+, simulated\. /);
    expect(reportOf(sampleCommission)).toContain("content: 'SIMULATED'");
    expect(reportOf({ ...sampleCommission, simulated: false, invented: false })).not.toMatch(
      /simulated\.|SIMULATED|INVENTED/,
    );
  });

  it('closed form: evidence, hashes, seed, device, assumptions and commands are there', () => {
    const text = bodyText(sample);
    for (const frame of sampleCommission.frames) {
      expect(text).toContain(frame.sha256);
      expect(text).toContain(frame.file);
    }
    for (const part of [
      'sim:glaze-line',
      samplePlan.stationSha256,
      samplePlan.assumptions[0]!,
      'sha256sum --check SHA256SUMS',
      'npx focuswright commission HANDOVER/station.yaml --camera frames:HANDOVER/frames --out recomputed',
      '2026-11-24T08:00:00.000Z',
      '--seed 7',
      'smallestFeatureMm: 0.2',
    ]) {
      expect(text).toContain(part);
    }
  });

  it('closed form: refusals stand with reason and remedy', () => {
    const text = bodyText(sample);
    expect(text).toContain(
      'Refused at 521 mm. The region shows no texture: contrast 0.4 %, needed 2 %. Choose a region with an edge, or turn the target.',
    );
    expect(text).toContain('Refused at far, 545 mm. The edge is tilted by 0.3°');
  });

  it('degenerate: a cancelled run shows what there is and says what is missing', () => {
    const part = {
      ...sampleCommission,
      state: 'cancelled' as const,
      stateReason: 'stopped by hand',
      calibration: null,
      resolution: [],
      frames: [],
      autofocus: sampleCommission.autofocus.slice(0, 1),
      ledger: [],
    };
    const text = bodyText(parsed(reportOf(part)));
    expect(text).toContain('The run was cancelled. Stopped by hand.');
    expect(text).toContain(
      'Missing: the distance calibration; the resolution check at near, middle, far; stored frames.',
    );
    expect(text).toContain('Best focus at 340 mm is');
  });

  it('degenerate: nothing measured at all', () => {
    const nothing = {
      ...sampleCommission,
      state: 'failed' as const,
      autofocus: [],
      calibration: null,
      resolution: [],
      frames: [],
      ledger: [],
      cautions: [],
      verdict: 'unknown' as const,
    };
    expect(bodyText(parsed(reportOf(nothing)))).toContain('No sweep was finished');
  });

  it('closed form: the picture of a measured frame marks the region at its place in the frame', () => {
    const measured = sampleCommission.resolution.find(({ result }) => result.kind === 'measured')!;
    if (measured.result.kind !== 'measured') throw new Error('the sample has a measured reading');
    const picture = { file: measured.frame, dataUri: 'data:image/png;base64,AAAA', widthPx: 904, heightPx: 600 };
    const root = parsed(
      handoverReportHtml({
        commission: sampleCommission,
        plan: samplePlan,
        station: sampleStation,
        stationYaml: sampleStationYaml,
        generatedOn: '2026-11-24',
        pictures: [picture],
        sharpness: planSharpness(sampleStation),
      }),
    );
    const svg = elementsOf(root).find((e) => e.name === 'svg' && elementsOf(e).some(({ name }) => name === 'image'))!;
    const marks = elementsOf(svg).filter(({ name }) => name === 'rect');
    // 904 px are drawn 452 wide.
    expect(marks.map(({ attributes }) => [attributes.x, attributes.width].map(Number))).toEqual(
      [0, 1].map(() => [
        measured.result.kind === 'measured' && measured.result.region.xPx / 2,
        measured.result.kind === 'measured' && measured.result.region.widthPx / 2,
      ]),
    );
  });

  it('property: ids are unique', () => {
    const ids = elementsOf(sample).flatMap(({ attributes }) => attributes.id ?? []);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('property: texts of any record are escaped, numbers are numbers', () => {
    const own = /NaN|undefined|Infinity|\[object/;
    fc.assert(
      fc.property(anyCommission, (commission) => {
        const root = parsed(reportOf(commission));
        if (!own.test(JSON.stringify(commission))) expect(bodyText(root)).not.toMatch(own);
        expect(textOf(elementsOf(root).find(({ name }) => name === 'h1')!)).toBe(xmlText(commission.station));
        expect(elementsOf(root).filter(({ attributes }) => attributes.id?.startsWith('row-'))).toHaveLength(
          commission.ledger.length,
        );
      }),
      { numRuns: 40 },
    );
  });

  it('closed form: a station called <glaze> & "line" keeps its name', () => {
    const root = parsed(reportOf({ ...sampleCommission, station: '<glaze> & "line"' }));
    expect(textOf(elementsOf(root).find(({ name }) => name === 'h1')!)).toBe('<glaze> & "line"');
  });
});

/** The text with characters that XML does not allow replaced. */
const xmlText = (text: string) =>
  [...text]
    .map((c) =>
      /[\t\n\r]/.test(c) || (c >= ' ' && c !== '\uFFFE' && c !== '\uFFFF' && !/^[\uD800-\uDFFF]$/.test(c))
        ? c
        : '\uFFFD',
    )
    .join('');
