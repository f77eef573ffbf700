import { readFileSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { focusSumsFast } from '../../src/image/focus-measures/focus-sums.fast.js';
import { type FocusSum, focusSumTerms } from '../../src/image/focus-measures/focus-sums.js';
import { ringBlurTable, ringSpectrometerFast, sceneLikelihoodFast } from '../../src/image/index.js';

const origin = 'http://focuswright.test';
const names = Object.keys(focusSumTerms) as FocusSum[];
const [widthPx, heightPx] = [333, 222];

/** The same picture wherever it is made. */
const pixel = (i: number): number => Math.imul(i + 77, 2654435761) >>> 20;

/** Spectra of two places of a picture, and how well a blur explains them. */
function defocusOf(
  {
    ringBlurTable: tableOf,
    ringSpectrometerFast: spectrometerOf,
    sceneLikelihoodFast: likelihoodOf,
  }: {
    ringBlurTable: typeof ringBlurTable;
    ringSpectrometerFast: typeof ringSpectrometerFast;
    sceneLikelihoodFast: typeof sceneLikelihoodFast;
  },
  image: Parameters<ReturnType<typeof ringSpectrometerFast>['measure']>[0],
): number[] {
  const { rings, measure } = spectrometerOf({ widthPx: 128, heightPx: 128 });
  const table = tableOf({ rings, cutoffPerPx: 1.2, maxBlurRadiusPx: 30 });
  const frames = [3, 60].map((xPx) => ({ ...measure(image, { xPx, yPx: 5 }), noiseDn2: 1 }));
  const frameBlur = { count: 1, stdsPx: Float64Array.of(0.2), leakRatio: 0.02, errorRatio: 0.01 };
  const ask = likelihoodOf(rings).ofBlurs(frames, table);
  const logLikelihood = ask({
    frames: [2, -5].map((radiusPx) => ({ ...frameBlur, radiiPx: Float64Array.of(radiusPx) })),
    sphericalWaves: 0.1,
    modelErrorRatio: 0.05,
  });
  return [logLikelihood, ...frames[0]!.powersDn2];
}

/** Runs in the browser: the built modules, as any page would load them. */
const script = `
  import { focusSumsFast } from '${origin}/image/focus-measures/focus-sums.fast.js';
  import { focusKernel } from '${origin}/image/focus-measures/focus-kernel.js';
  import * as defocus from '${origin}/image/defocus/index.js';
  const pixel = ${pixel};
  const defocusOf = ${defocusOf};
  const data = Uint16Array.from({ length: ${widthPx * heightPx} }, (_, i) => pixel(i));
  const image = { widthPx: ${widthPx}, heightPx: ${heightPx}, bitDepth: 12, data };
  const region = { xPx: 0, yPx: 0, widthPx: ${widthPx}, heightPx: ${heightPx} };
  const sums = focusSumsFast(image, region, ${JSON.stringify(names)}).map(String);
  const result = { sums, byKernel: focusKernel() !== null, defocus: defocusOf(defocus, image) };
`;

let browser: Browser;
beforeAll(async () => {
  browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
});
afterAll(() => browser?.close());

it('property: the kernels run in a page and in a worker of Chromium, with the results of Node', async () => {
  const page = await browser.newPage();
  // Some hundred modules, one after the other, on a machine that may be busy.
  page.setDefaultTimeout(120_000);
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
  const wanted = defocusOf({ ringBlurTable, ringSpectrometerFast, sceneLikelihoodFast }, image);
  for (const { defocus, ...focus } of [inPage, inWorker] as { defocus: number[] }[]) {
    expect(focus).toEqual({ sums, byKernel: true });
    expect(defocus.length).toBe(wanted.length);
    for (const [i, value] of wanted.entries()) expect(Math.abs(defocus[i]! / value - 1)).toBeLessThan(1e-9);
  }
});
