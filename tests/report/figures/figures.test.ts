import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { planStation } from '../../../src/planning/index.js';
import { stationSchema } from '../../../src/station/index.js';
import { anyCommission } from '../random-record.js';
import { everyFigure } from '../sample-figures.js';
import { sampleCommission, samplePlan, sampleStation, sampleStationYaml } from '../sample-record.js';
import { elementsOf, parseXml, textOf } from '../strict-xml.js';

const sizes = [
  { widthPx: 320, heightPx: 300 },
  { widthPx: 520, heightPx: 280 },
  { widthPx: 1100, heightPx: 420 },
];
const sample = { station: sampleStation, plan: samplePlan, commission: sampleCommission };
const cases = sizes.flatMap((size) =>
  everyFigure(sample, size).map(([name, figure]) => [name, size.widthPx, figure] as const),
);

describe('figures', () => {
  it.each(cases)('property: %s at %d px is one well-formed named image', (_, __, figure) => {
    const root = parseXml(figure.svg);
    expect(root.name).toBe('svg');
    expect(root.attributes.role).toBe('img');
    const [title, desc] = root.attributes['aria-labelledby']!.split(' ').map(
      (id) => elementsOf(root).find((e) => e.attributes.id === id)!,
    );
    expect(textOf(title!)).toBe(figure.title);
    expect(textOf(desc!)).toBe(figure.description);
    expect(figure.description.length).toBeGreaterThan(figure.title.length / 2);
  });

  it('property: ids are unique over a page of all figures', () => {
    const ids = cases.flatMap(([, , { svg }]) => elementsOf(parseXml(svg)).flatMap((e) => e.attributes.id ?? []));
    expect(ids.length).toBeGreaterThan(20);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('property: colours come from the page, never fixed ones', () => {
    for (const [, , { svg }] of cases) {
      for (const { attributes } of elementsOf(parseXml(svg))) {
        for (const paint of [attributes.fill, attributes.stroke]) {
          if (paint !== undefined && paint !== 'none') expect(paint).toMatch(/^var\(--fw-[a-z-]+, #[\da-f]{6}\)$/);
        }
      }
    }
  });

  it('property: any record, ordinary or extreme, gives well-formed figures without NaN, undefined or Infinity', () => {
    fc.assert(
      fc.property(anyCommission, fc.integer({ min: 0, max: 1400 }), (commission, widthPx) => {
        for (const [, figure] of everyFigure({ ...sample, commission }, { widthPx, heightPx: 200 })) {
          const root = parseXml(figure.svg);
          for (const { attributes } of elementsOf(root))
            expect(Object.values(attributes).join(' ')).not.toMatch(/NaN|undefined|Infinity/);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('property: any station that can be planned can be drawn', () => {
    const base = parse(sampleStationYaml);
    fc.assert(
      fc.property(
        fc.record({
          nearMm: fc.double({ min: 30, max: 3000, noNaN: true }),
          spanMm: fc.double({ min: 1, max: 30_000, noNaN: true }),
          focalLengthMm: fc.double({ min: 4, max: 120, noNaN: true }),
          ringDistanceMm: fc.option(fc.double({ min: 200, max: 100_000, noNaN: true })),
          gapMm: fc.double({ min: 0, max: 100, noNaN: true }),
          fNumber: fc.constantFrom(1.8, 4, 16),
        }),
        ({ nearMm, spanMm, focalLengthMm, ...layout }) => {
          const station = stationSchema.parse({
            ...base,
            task: { ...base.task, nearMm, farMm: nearMm + spanMm },
            parts: { ...base.parts, fixedLens: { ...base.parts.fixedLens, focalLengthMm } },
            layout: { ...base.layout, ...layout },
          });
          const plan = planStation(station, { stationSha256: '', softwareVersion: '' });
          for (const [, { svg, title }] of everyFigure(
            { station, plan, commission: sampleCommission },
            { widthPx: 640, heightPx: 300 },
          )) {
            parseXml(svg);
            expect(title).not.toMatch(/NaN|undefined|Infinity/);
          }
        },
      ),
      { numRuns: 25 },
    );
  });
});
