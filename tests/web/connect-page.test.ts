import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { arvControl } from '../wire/aravis.js';
import { serveStation } from '../wire/served-station.js';
import { openStage, type Stage } from './browser.js';
import { writeSmallLine } from './small-line.js';

let stage: Stage;
let line: ReturnType<typeof writeSmallLine>;
beforeAll(async () => {
  line = writeSmallLine();
  stage = await openStage(line.path);
}, 120_000);
afterAll(async () => {
  await stage?.close();
  line?.remove();
});

/** The fact beside a name of the live view. */
const fact = (page: Page, name: string) =>
  page.locator(`.live-facts dt:text-is("${name}") + dd`).first().innerText({ timeout: 60_000 });

/** How many grey values the live picture has: 1 while nothing is drawn. */
const greyCount = (page: Page) =>
  page.locator('canvas.live-picture').evaluate((canvas: HTMLCanvasElement) => {
    const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
    return new Set(data.filter((_, i) => i % 4 === 0)).size;
  });

describe('Connect in a browser', () => {
  it('property: shows what a camera sees, moves its lens within its limits, and parks it', {
    timeout: 120_000,
  }, async () => {
    const { page, trouble } = await stage.page();
    await page
      .locator('.rail')
      .getByRole('link', { name: /Connect/ })
      .click();
    await page.getByRole('heading', { name: 'No camera is connected' }).waitFor();
    // Cautions stand before the first connection.
    expect(await page.locator('.connect-page').innerText()).toContain('IEC 62471');

    const simulated = page.getByRole('listitem').filter({ hasText: 'The simulated station in this page' });
    await simulated.getByRole('button', { name: 'Connect' }).click({ timeout: 60_000 });
    await page.getByRole('heading', { name: /^Connected to / }).waitFor();
    await page.getByText('Simulated: what it shows is no real scene.').waitFor();
    await expect.poll(() => greyCount(page)).toBeGreaterThan(20);
    expect(await fact(page, 'Limits')).toContain('−2.000 … 3.000');

    const power = page.getByRole('slider', { name: 'Focal power' });
    await power.fill('1');
    await expect.poll(() => fact(page, 'Power')).toContain('1.000');
    await power.focus();
    await page.keyboard.press('End');
    await expect.poll(() => fact(page, 'Power')).toContain('3.000');
    const exposure = await fact(page, 'Exposure');
    await page.getByRole('button', { name: 'Darker' }).click();
    await expect.poll(() => fact(page, 'Exposure')).not.toBe(exposure);

    for (const colorScheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme });
      await page.setViewportSize({ width: 380, height: 900 });
      const widthPx = await page.evaluate(() => document.documentElement.scrollWidth);
      expect(widthPx).toBeLessThanOrEqual(380);
      const picture = (await page.locator('canvas.live-picture').boundingBox())!;
      expect(picture.x + picture.width).toBeLessThanOrEqual(380);
    }

    // The camera is the server's: a page that is loaded anew finds it again.
    await page.reload();
    await page.getByRole('button', { name: 'Park the lens and disconnect' }).click();
    await page.getByRole('heading', { name: 'No camera is connected' }).waitFor();
    expect(await (await fetch(new URL('/api/camera', stage.url))).json()).toBeNull();
    expect(trouble).toEqual([]);
  });

  it('property: a camera on the wire is found in the list, seen live, moved within its limits, and parked', {
    timeout: 120_000,
  }, async () => {
    const served = await serveStation({
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 640, heightPx: 512 });
      },
    });
    try {
      const { page, trouble } = await stage.page();
      await page
        .locator('.rail')
        .getByRole('link', { name: /Connect/ })
        .click();
      // Cameras that answer are asked again as often as a busy machine needs.
      const listed = page.getByRole('listitem').filter({ hasText: served.serialNumber });
      await expect
        .poll(
          async () => {
            const again = page.getByRole('button', { name: 'Look again' });
            if ((await listed.count()) === 0 && (await again.isEnabled())) await again.click();
            return listed.count();
          },
          { timeout: 60_000, interval: 1000 },
        )
        .toBe(1);
      const titles = await page.locator('.camera-list li').allTextContents();
      expect(titles.at(-1), 'the simulation comes last').toContain('The simulated station in this page');
      await listed.getByRole('button', { name: 'Connect' }).click();
      await page.getByRole('heading', { name: /^Connected to / }).waitFor();
      await page.getByText('Simulated: what it shows is no real scene.').waitFor();
      await expect.poll(() => greyCount(page)).toBeGreaterThan(20);
      expect(await fact(page, 'Camera')).toContain(served.serialNumber);
      expect(await fact(page, 'Limits')).toContain('−2.000 … 3.000');
      await page.getByRole('slider', { name: 'Focal power' }).fill('1');
      await expect.poll(() => fact(page, 'Power')).toContain('1.000');
      await page.getByRole('button', { name: 'Park the lens and disconnect' }).click();
      await page.getByRole('heading', { name: 'No camera is connected' }).waitFor();
      expect((await arvControl(served.address, 'FocalPower'))[0]).toContain('FocalPower = 0 ');
      expect(trouble).toEqual([]);
    } finally {
      await served.close();
    }
  });

  it('refuses an address where no camera is, and says what to do', { timeout: 120_000 }, async () => {
    const { page } = await stage.page();
    await page
      .locator('.rail')
      .getByRole('link', { name: /Connect/ })
      .click();
    await page.getByRole('textbox', { name: /IP address/ }).fill('127.0.77.1');
    const connect = page.locator('form').getByRole('button', { name: 'Connect', exact: true });
    await connect.click({ timeout: 60_000 });
    await page.getByRole('alert').waitFor({ timeout: 60_000 });
    expect(await page.getByRole('alert').innerText()).not.toContain('undefined');
    expect(await page.getByRole('heading', { level: 1 }).innerText()).toBe('No camera is connected');
  });
});
