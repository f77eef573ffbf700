import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { everyFigure } from '../sample-figures.js';
import { sampleCommission, samplePlan, sampleStation } from '../sample-record.js';

const executablePath = ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find((path) => existsSync(path));
const sample = { station: sampleStation, plan: samplePlan, commission: sampleCommission };
const sizes = [
  { widthPx: 320, heightPx: 300 },
  { widthPx: 452, heightPx: 280 },
  { widthPx: 1100, heightPx: 420 },
];
const cases = sizes.flatMap((size) =>
  everyFigure(sample, size).map(([name, { svg }]) => [name, size.widthPx, svg] as const),
);

/** Place of a text as the browser drew it, from the figure's corner. */
interface DrawnText {
  text: string;
  left: number;
  right: number;
  top: number;
  bottom: number;
}

let browser: Browser;
beforeAll(async () => {
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
});
afterAll(() => browser.close());

/** Letters fill less than the line that the browser reckons with. */
const leadingPx = 2;

const apart = (a: DrawnText, b: DrawnText) =>
  a.right <= b.left ||
  b.right <= a.left ||
  a.bottom - leadingPx <= b.top + leadingPx ||
  b.bottom - leadingPx <= a.top + leadingPx;

describe('labels as a browser draws them', () => {
  it('reference: no two texts of a figure overlap and none leaves it, narrow, half and wide', async () => {
    const page = await browser.newPage({ viewport: { width: 1200, height: 800 } });
    await page.setContent(
      `<body style="margin:0">${cases.map(([, , svg]) => `<div class="one">${svg}</div>`).join('')}</body>`,
    );
    const drawn = await page.evaluate(() =>
      [...document.querySelectorAll('.one > svg')].map((svg) => {
        const box = svg.getBoundingClientRect();
        const texts = [...svg.querySelectorAll('text')].map((node) => {
          const { left, right, top, bottom } = node.getBoundingClientRect();
          return {
            text: node.textContent ?? '',
            left: left - box.left,
            right: right - box.left,
            top: top - box.top,
            bottom: bottom - box.top,
          };
        });
        return { widthPx: box.width, heightPx: box.height, texts };
      }),
    );
    const faults = drawn.flatMap(({ widthPx, heightPx, texts }, i) => {
      const where = `${cases[i]![0]} at ${cases[i]![1]} px`;
      const outside = texts.filter(
        (t) => t.left < -1 || t.right > widthPx + 1 || t.top < -leadingPx || t.bottom > heightPx + leadingPx,
      );
      const pairs = texts.flatMap((a, k) =>
        texts
          .slice(k + 1)
          .filter((b) => !apart(a, b))
          .map((b) => `"${a.text}" on "${b.text}"`),
      );
      return [...outside.map((t) => `"${t.text}" leaves`), ...pairs].map((fault) => `${where}: ${fault}`);
    });
    expect(drawn).toHaveLength(cases.length);
    expect(drawn.every(({ texts }) => texts.length > 4)).toBe(true);
    expect(faults).toEqual([]);
    await page.close();
  });
});
