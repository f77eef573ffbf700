import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readImage } from '../../src/app/index.js';
import { encodeTiff, measureBars, measureGrid, readEdges } from '../../src/image/index.js';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
let folder: string;
beforeAll(async () => {
  stage = await openStage('stations/glaze-line.yaml');
  folder = mkdtempSync(join(tmpdir(), 'focuswright-measure-'));
}, 120_000);
afterAll(async () => {
  await stage?.close();
  rmSync(folder, { recursive: true, force: true });
});

const edgeFile = 'references/edges/edge-00-disc-gauss.png';

async function measurePage() {
  const { page, trouble } = await stage.page({ permissions: ['clipboard-read', 'clipboard-write'] });
  page.setDefaultTimeout(90_000);
  await page.goto(`${stage.url}#/resolution/measure`);
  await page.getByRole('heading', { name: 'Measure a frame' }).waitFor({ timeout: 60_000 });
  return { page, trouble };
}

const choose = async (page: Page, file: string, slot = 0) => {
  await page.locator('input[type=file]').nth(slot).setInputFiles(file);
  await page
    .locator('.frame-facts')
    .nth(slot)
    .filter({ hasText: file.split('/').at(-1)! })
    .waitFor();
};
const measure = async (page: Page, what: string) => {
  await page.getByRole('combobox', { name: /^Measure/ }).selectOption(what);
  await page.getByRole('button', { name: 'Measure', exact: true }).click();
};
/** The record of the result, by way of the clipboard. */
const copied = async (page: Page) => {
  await page.getByRole('button', { name: 'Copy as JSON' }).click();
  await page.getByText('Copied.').waitFor();
  return JSON.parse(await page.evaluate(() => navigator.clipboard.readText()));
};

describe('measuring a frame in a browser', { timeout: 300_000 }, () => {
  it('property: an edge, a target and a grid give what the library gives, with outlines, figure and ledger', async () => {
    const { page, trouble } = await measurePage();
    await choose(page, edgeFile);
    await measure(page, 'edge');
    await page.locator('figcaption').filter({ hasText: 'Contrast one half at' }).waitFor();
    const edge = await copied(page);
    const own = readEdges({ image: (await readImage(edgeFile)).image });
    expect(own.kind).toBe('measured');
    if (own.kind === 'measured') {
      expect(edge.mtf50PerPx).toBeCloseTo(own.mtf50PerPx!, 9);
      // Sines and exponentials of the browser differ from Node's in the last digit.
      own.mtf.forEach(({ value }, i) => {
        expect(edge.mtf[i].value).toBeCloseTo(value, 9);
      });
    }
    expect(edge).toMatchObject({ widthPx: 117, heightPx: 88, bitDepth: 8, measured: 'edge', simulated: false });
    expect(edge.sha256).toBe((await readImage(edgeFile)).sha256);
    const ledger = page.getByRole('region', { name: 'Measured on the frame' });
    expect(await ledger.locator('.ledger-row').count()).toBe(5);
    expect(await ledger.locator('.ledger-row').first().textContent()).toContain('fails');
    expect(await page.locator('.frame-marks polygon').count()).toBe(2);

    await choose(page, 'references/bars/target-000.png');
    await page.getByRole('combobox', { name: /^Measure/ }).selectOption('bars');
    await page.getByLabel('A pixel on the object').fill('nothing');
    await page.getByRole('alert').filter({ hasText: 'A pixel on the object is “nothing”; allowed: 0.001' }).waitFor();
    expect(await page.getByRole('button', { name: 'Measure', exact: true }).isDisabled()).toBe(true);
    await page.getByLabel('A pixel on the object').fill('202.118141');
    await measure(page, 'bars');
    const bars = await copied(page);
    const { image } = await readImage('references/bars/target-000.png');
    const ownBars = measureBars({ image, umPerPx: 202.118141 });
    expect(bars.lastResolved.joint).toEqual(ownBars.lastResolved?.joint);
    expect(bars.elements).toHaveLength(ownBars.elements.length);
    expect(await page.locator('.frame-marks g').count()).toBe(ownBars.elements.length);

    await choose(page, 'references/targets-geometry/dots_turned.png');
    await page.getByRole('combobox', { name: /^Measure/ }).selectOption('grid');
    await page.getByLabel('Pitch').fill('2');
    await measure(page, 'grid');
    const grid = await copied(page);
    const dots = (await readImage('references/targets-geometry/dots_turned.png')).image;
    const ownGrid = measureGrid({ image: dots, pitchMm: 2 });
    expect(ownGrid.kind === 'measured' && ownGrid.pixelMm.value).toBeCloseTo(grid.pixelMm.value, 9);
    expect(trouble).toEqual([]);
  });

  it('property: a region is drawn, moved and typed, and only it is measured; two pages of a TIFF give the noise', async () => {
    const { page, trouble } = await measurePage();
    await choose(page, 'references/targets-geometry/star_sine.png');
    const picture = (await page.locator('.frame-canvas').boundingBox())!;
    await page.mouse.move(picture.x + picture.width * 0.25, picture.y + picture.height * 0.25);
    await page.mouse.down();
    await page.mouse.move(picture.x + picture.width * 0.75, picture.y + picture.height * 0.7, { steps: 4 });
    await page.mouse.up();
    const region = page.getByRole('button', { name: /^Region 160 × 135 pixels at 80, 75/ });
    await region.press('ArrowRight');
    await page.getByRole('button', { name: /at 88, 75/ }).waitFor();
    await page.getByLabel('wide').fill('100');
    await measure(page, 'focus');
    const focus = await copied(page);
    expect(focus.region).toEqual({ xPx: 88, yPx: 75, widthPx: 100, heightPx: 135 });
    expect(focus.values).toHaveLength(10);
    expect(focus.values[0].std).toBeGreaterThan(0);

    const pair = 'references/noise/level_05.tif';
    await choose(page, pair);
    await page.getByRole('combobox', { name: /^Measure/ }).selectOption('noise');
    await page.getByRole('button', { name: 'Whole frame' }).isVisible();
    await choose(page, pair, 1);
    await page.getByRole('button', { name: 'Measure', exact: true }).click();
    await page.getByRole('alert').filter({ hasText: 'Both frames are the same' }).waitFor();
    await page.getByLabel('Page').nth(1).fill('2');
    await page.locator('.frame-facts').nth(1).filter({ hasText: 'page 2 of 2' }).waitFor();
    await page.getByRole('button', { name: 'Measure', exact: true }).click();
    await page.getByRole('heading', { name: /^A pixel’s noise is 1\d\.\d DN at a mean of 80\d DN$/ }).waitFor();
    expect(trouble).toEqual([]);
  });

  it('property: the newest frame of the camera and a stored frame of a handover are measured, dark and narrow', async () => {
    const run = join(stage.runsFolder, 'kept-run');
    mkdirSync(join(run, 'frames'), { recursive: true });
    const { image } = await readImage(edgeFile);
    writeFileSync(join(run, 'frames', 'a b#1;?.tiff'), encodeTiff(image));
    writeFileSync(
      join(run, 'frames', 'frames.csv'),
      'file,focalPowerDpt,workingDistanceMm,source\n"a b#1;?.tiff",0.4,350,sim:test\n',
    );
    const { page, trouble } = await measurePage();
    await page.getByLabel('Stored in').selectOption('kept-run');
    await page.getByLabel('Stored frame').selectOption({ index: 1 });
    await page
      .locator('.frame-facts')
      .filter({ hasText: 'kept-run/a b#1;?.tiff: 117 × 88 px, 8 bit, 0.400 dpt · simulated' })
      .waitFor();
    expect(await page.getByLabel('Predicted for a target at').inputValue()).toBe('350');
    await measure(page, 'edge');
    expect((await copied(page)).simulated).toBe(true);

    const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
    const opened = await page.evaluate(async (text) => {
      const answer = await fetch('/api/camera', {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ address: 'simulated', yaml: text }),
      });
      await answer.text();
      return answer.status;
    }, yaml);
    expect(opened).toBe(201);
    await page.reload();
    await page.getByRole('button', { name: 'Newest frame of the camera' }).click();
    await page.locator('.frame-facts').filter({ hasText: '1280 × 1024 px, 8 bit' }).waitFor();
    await measure(page, 'focus');
    expect((await copied(page)).values).toHaveLength(10);
    for (const colorScheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme });
      await page.setViewportSize({ width: 380, height: 900 });
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(380);
    }
    await page.evaluate(async () => (await fetch('/api/camera', { method: 'DELETE' })).text());
    expect(trouble).toEqual([]);
  });

  it('refuses an address without a page, with the pages that are there; the short address of measuring leads to it', async () => {
    const { page, trouble } = await measurePage();
    await page.goto(`${stage.url}#/measurement`);
    await page.getByRole('heading', { name: 'There is no page at this address' }).waitFor();
    await page.getByRole('region', { name: 'No such page' }).getByRole('link', { name: 'Measure a frame' }).click();
    await page.getByRole('heading', { name: 'Measure a frame' }).waitFor();
    await page.goto(`${stage.url}#/measure`);
    await page.waitForURL(/#\/resolution\/measure$/);
    expect(trouble).toEqual([]);
  });

  it('refuses what is no picture and what holds no target, with the remedy; a cancelled work leaves the page usable', async () => {
    const { page, trouble } = await measurePage();
    const bad: [name: string, bytes: Uint8Array, words: RegExp][] = [
      ['empty.png', new Uint8Array(), /empty file/],
      ['cut.png', readFileSync(edgeFile).subarray(0, 900), /truncated|damaged|too few/],
      ['notes.tif', new TextEncoder().encode('no picture at all'), /neither a PNG nor a TIFF/],
    ];
    for (const [name, bytes, words] of bad) {
      writeFileSync(join(folder, name), bytes);
      await page.locator('input[type=file]').setInputFiles(join(folder, name));
      await page.getByRole('alert').filter({ hasText: words }).waitFor();
    }
    for (const [name, grey] of [
      ['black.tif', 0],
      ['white.tif', 255],
    ] as const) {
      const plain = { widthPx: 300, heightPx: 200, bitDepth: 8, data: new Uint8Array(60_000).fill(grey) };
      writeFileSync(join(folder, name), encodeTiff(plain));
      await choose(page, join(folder, name));
      for (const what of ['edge', 'focus', 'bars', 'star', 'grid']) {
        if (what === 'bars') {
          await page.getByRole('combobox', { name: /^Measure/ }).selectOption('bars');
          await page.getByLabel('A pixel on the object').fill('10');
        }
        await measure(page, what);
        await page
          .getByRole('alert')
          .filter({ hasText: /^Refused: \S.* \S/ })
          .waitFor();
        expect((await copied(page)).kind).toBe('refused');
      }
    }
    await page.locator('input[type=file]').setInputFiles(edgeFile);
    await page
      .getByRole('button', { name: 'Cancel' })
      .click({ timeout: 1000 })
      .catch(() => {});
    await choose(page, edgeFile);
    await measure(page, 'edge');
    await page.locator('figcaption').filter({ hasText: 'Contrast one half at' }).waitFor();
    expect(trouble).toEqual([]);
  });
});
