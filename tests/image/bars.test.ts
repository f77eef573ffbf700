import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import {
  type BarsRead,
  type BarsReading,
  decodeImage,
  type GreyImage,
  measureBars,
  rayleighModulation,
  type SeriesElement,
} from '../../src/image/index.js';

interface Place {
  group: number;
  element: number;
}
type Last = Record<'horizontal' | 'vertical' | 'joint', Place | null>;
interface Target {
  file: string;
  umPerPx: number;
  barsDark: boolean;
  rotationDeg: number;
  lastResolved: { '0.153': Last; '0.2': Last };
  elements: (Place & { barsRun: string; xPx: number; yPx: number; contrast: number })[];
}

/** BAR_TARGETS=DIR takes another set that references/bars/make_bars.py wrote. */
const folder = process.env.BAR_TARGETS
  ? new URL(`file://${process.env.BAR_TARGETS}/`)
  : new URL('../../references/bars/', import.meta.url);
const truth = (JSON.parse(readFileSync(new URL('truth.json', folder), 'utf8')) as { targets: Target[] }).targets;

function read(reading: BarsReading): BarsRead {
  if (reading.kind === 'refused') throw new Error(`${reading.reason}: ${reading.message}`);
  return reading;
}
const indexOf = (place: Place | SeriesElement | null) => (place ? 6 * place.group + place.element : null);
const images = new Map(truth.map(({ file }) => [file, decodeImage(readFileSync(new URL(file, folder)), file)]));
const readings = truth.map((target) => ({
  target,
  reading: read(measureBars({ image: images.get(target.file)!, umPerPx: target.umPerPx })),
}));
const quantile = (list: readonly number[], share: number) =>
  [...list].sort((a, b) => a - b)[Math.floor(share * (list.length - 1))] ?? Number.NaN;

const pairs = readings.flatMap(({ target, reading }) =>
  target.elements.flatMap((element) => {
    const width = 500 / 2 ** (element.group + (element.element - 1) / 6) / target.umPerPx;
    const found = reading.elements.find(
      ({ xPx, yPx, barsRun }) =>
        Math.hypot(xPx - element.xPx, yPx - element.yPx) < width && barsRun === element.barsRun,
    );
    return found ? [{ element, found, error: Math.abs(found.contrast - element.contrast) }] : [];
  }),
);
const errors = pairs.map(({ error }) => error);
const covered = pairs.filter(({ error, found }) => error <= 2 * found.contrastStd).length / pairs.length;

describe(`${truth.length} three-bar targets of known contrast made with numpy (references/bars)`, () => {
  it('reference: the last resolved element, in all three readings, is the true one or its neighbour in at least 95 %', () => {
    const offs = readings.flatMap(({ target, reading }) =>
      (['horizontal', 'vertical', 'joint'] as const).flatMap((kind) => {
        const wanted = indexOf(target.lastResolved['0.153'][kind]);
        return wanted === null ? [] : [Math.abs((indexOf(reading.lastResolved[kind]) ?? -99) - wanted)];
      }),
    );
    expect(offs.length).toBeGreaterThan(30);
    expect(offs.filter((off) => off <= 1).length / offs.length).toBeGreaterThanOrEqual(0.95);
    expect(offs.filter((off) => off === 0).length / offs.length).toBeGreaterThan(0.8);
  });

  it(`reference: contrast of ${pairs.length} patterns: error median ${quantile(errors, 0.5).toFixed(4)}, 95 % ${quantile(errors, 0.95).toFixed(4)}; 2 σ cover ${(100 * covered).toFixed(1)} %`, () => {
    expect(pairs.length).toBeGreaterThan(150);
    expect(quantile(errors, 0.5)).toBeLessThan(0.006);
    expect(quantile(errors, 0.95)).toBeLessThan(0.025);
    expect(covered).toBeGreaterThan(0.9);
  });

  it('reference: group, element, direction and place of every pattern, polarity and turn of the target, and scale', () => {
    for (const { element, found } of pairs) expect(indexOf(found)).toBe(indexOf(element));
    for (const { target, reading } of readings) {
      expect(reading.barsAre).toBe(target.barsDark ? 'darker' : 'brighter');
      expect(Math.abs(reading.tiltDeg - target.rotationDeg)).toBeLessThan(0.3);
      expect(Math.abs(reading.sizeRatio - 1)).toBeLessThan(0.01);
    }
  });

  it('property: a stricter criterion never reads finer, and 4 % wrong µm per pixel are seen and put right', () => {
    const target = truth[0]!;
    const image = images.get(target.file)!;
    const last = (umPerPx: number, modulation?: number) =>
      read(measureBars({ image, umPerPx, ...(modulation === undefined ? {} : { modulation }) }));
    const places = [0.05, 0.2, 0.5, 0.8].map(
      (modulation) => indexOf(last(target.umPerPx, modulation).lastResolved.joint)!,
    );
    expect(places).toEqual([...places].sort((a, b) => b - a));
    const off = last(target.umPerPx * 1.04);
    expect(off.lastResolved.joint).toEqual(last(target.umPerPx).lastResolved.joint);
    expect(off.sizeRatio).toBeCloseTo(1.04, 2);
    expect(off.criterion).toEqual({ name: 'rayleigh-dip', modulation: rayleighModulation });
    expect([off.lastResolved.group, off.lastResolved.element]).toEqual([
      off.lastResolved.joint!.group,
      off.lastResolved.joint!.element,
    ]);
  });

  it('degenerate: where no element reaches the modulation, group, element and lp/mm are null, as the joint reading', () => {
    const blurred = readings.find(({ reading }) => reading.elements.every(({ contrast }) => contrast < 0.93))!;
    const image = images.get(blurred.target.file)!;
    const reading = read(measureBars({ image, umPerPx: blurred.target.umPerPx, modulation: 0.95 }));
    const none = { group: null, element: null, lpPerMm: null };
    expect(reading.lastResolved).toEqual({ ...none, horizontal: null, vertical: null, joint: null });
  });

  it('property: a quarter turn of the picture swaps the two readings', () => {
    const { target, reading } = readings[1]!;
    const image = images.get(target.file)!;
    const turned: GreyImage = {
      ...image,
      widthPx: image.heightPx,
      heightPx: image.widthPx,
      data: image.data.map((_, i) => {
        const [x, y] = [i % image.heightPx, Math.floor(i / image.heightPx)];
        return image.data[(image.heightPx - 1 - x) * image.widthPx + y]!;
      }),
    };
    const other = read(measureBars({ image: turned, umPerPx: target.umPerPx })).lastResolved;
    expect(other.vertical).toEqual(reading.lastResolved.horizontal);
    expect(other.horizontal).toEqual(reading.lastResolved.vertical);
  });
});

describe('measureBars: frames without a target', () => {
  const textures = new URL('../../references/bars/textures/', import.meta.url);
  const names = readdirSync(textures).filter((name) => name.endsWith('.png'));

  it(`reference: nothing is read in ${names.length} frames of noise, gratings, text, lines, codes and photographs`, () => {
    expect(names.length).toBeGreaterThanOrEqual(100);
    for (const name of names) {
      const image = decodeImage(readFileSync(new URL(name, textures)), name);
      const reading = measureBars({ image, umPerPx: 5 });
      expect([name, reading.kind]).toEqual([name, 'refused']);
    }
  });

  it('degenerate: plain, black, saturated, noisy and tiny frames are refused with a reason and what to do', () => {
    const random = seededRandom(3);
    const frame = (widthPx: number, heightPx: number, value: () => number): GreyImage => ({
      widthPx,
      heightPx,
      bitDepth: 8,
      data: Uint8Array.from({ length: widthPx * heightPx }, value),
    });
    for (const [image, reason] of [
      [frame(100, 80, () => 90), 'no-bars'],
      [frame(100, 80, () => 0), 'black'],
      [frame(100, 80, () => 255), 'clipped'],
      [frame(300, 200, () => 90 + Math.round(20 * random.uniform())), 'no-bars'],
      [frame(1, 1, () => 7), 'region-too-small'],
      [frame(15, 400, () => 7), 'region-too-small'],
    ] as const) {
      const reading = measureBars({ image, umPerPx: 5 });
      expect(reading).toMatchObject({ kind: 'refused', reason, remedy: expect.any(String) });
    }
  });

  it('refuses a wrong scale, modulation or region by RangeError', () => {
    const image: GreyImage = { widthPx: 40, heightPx: 40, bitDepth: 8, data: new Uint8Array(1600) };
    expect(() => measureBars({ image, umPerPx: 0 })).toThrow(/umPerPx/);
    expect(() => measureBars({ image, umPerPx: 5, modulation: 1.2 })).toThrow(/0\.02 … 0\.95/);
    expect(() => measureBars({ image, umPerPx: 5, region: { xPx: 0, yPx: 0, widthPx: 41, heightPx: 4 } })).toThrow(
      /40 × 40/,
    );
  });
});
