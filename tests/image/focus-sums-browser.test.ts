import { readFileSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { focusSumsFast } from '../../src/image/focus-measures/focus-sums.fast.js';
import { type FocusSum, focusSumTerms } from '../../src/image/focus-measures/focus-sums.js';

const origin = 'http://focuswright.test';
const names = Object.keys(focusSumTerms) as FocusSum[];
const [widthPx, heightPx] = [333, 222];

/** The same picture wherever it is made. */
const pixel = (i: number): number => Math.imul(i + 77, 2654435761) >>> 20;

/** Runs in the browser: the built modules, as any page would load them. */
const script = `
  import { focusSumsFast } from '${origin}/image/focus-measures/focus-sums.fast.js';
  import { focusKernel } from '${origin}/image/focus-measures/focus-kernel.js';
  const pixel = ${pixel};
  const data = Uint16Array.from({ length: ${widthPx * heightPx} }, (_, i) => pixel(i));
  const image = { widthPx: ${widthPx}, heightPx: ${heightPx}, bitDepth: 12, data };
  const region = { xPx: 0, yPx: 0, widthPx: ${widthPx}, heightPx: ${heightPx} };
  const sums = focusSumsFast(image, region, ${JSON.stringify(names)}).map(String);
  const result = { sums, byKernel: focusKernel() !== null };
`;

let browser: Browser;
beforeAll(async () => {
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
});
afterAll(() => browser?.close());

it('property: the kernels run in a page and in a worker of Chromium, with the sums of Node', async () => {
  const page = await browser.newPage();
  await page.route(`${origin}/**`, (route) => {
    const path = new URL(route.request().url()).pathname;
    if (path === '/') return route.fulfill({ contentType: 'text/html', body: '<!doctype html><title>sums</title>' });
    if (path === '/page.js')
      return route.fulfill({ contentType: 'text/javascript', body: `${script} globalThis.result = result;` });
    if (path === '/worker.js')
      return route.fulfill({ contentType: 'text/javascript', body: `${script} postMessage(result);` });
    return route.fulfill({ contentType: 'text/javascript', body: readFileSync(`dist${path}`, 'utf8') });
  });
  await page.goto(`${origin}/`);
  await page.addScriptTag({ type: 'module', url: '/page.js' });
  await page.waitForFunction('globalThis.result');
  const inPage = await page.evaluate('result');
  const inWorker = await page.evaluate(
    `new Promise((resolve, reject) => {
      const worker = new Worker('/worker.js', { type: 'module' });
      worker.onmessage = ({ data }) => resolve(data);
      worker.onerror = ({ message }) => reject(new Error(message));
    })`,
  );
  const data = Uint16Array.from({ length: widthPx * heightPx }, (_, i) => pixel(i));
  const image = { widthPx, heightPx, bitDepth: 12, data };
  const sums = focusSumsFast(image, { xPx: 0, yPx: 0, widthPx, heightPx }, names).map(String);
  expect(inPage).toEqual({ sums, byKernel: true });
  expect(inWorker).toEqual({ sums, byKernel: true });
});
