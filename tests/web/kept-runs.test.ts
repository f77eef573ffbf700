import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
beforeAll(async () => {
  // Whole frames: the run must still go on after the page has been loaded again, on a busy machine too.
  stage = await openStage('stations/glaze-line.yaml');
}, 120_000);
afterAll(() => stage?.close());

const step = (page: Page, name: string) => page.locator('.rail').getByRole('link', { name: new RegExp(name) });
const titles = (page: Page) => page.locator('.figure figcaption').allInnerTexts();

describe('runs kept by the page', () => {
  it('property: a running rehearsal comes back after a reload; readings stay with the station they were taken of', {
    timeout: 240_000,
  }, async () => {
    const { page, trouble } = await stage.page();
    await step(page, 'Rehearse').click();
    await page.getByRole('button', { name: 'Start the rehearsal' }).click();
    await page.locator('.figure-main svg circle').nth(2).waitFor();
    await page.reload();
    await page.locator('.figure-main svg circle').nth(2).waitFor();
    expect(await page.getByRole('button', { name: 'Cancel and park the lens' }).isEnabled()).toBe(true);

    // Every value the bar takes, from here to the end.
    await page.evaluate(() => {
      const seen: number[] = [];
      Object.assign(globalThis, { seen });
      const look = () => {
        const bar = document.querySelector('progress');
        if (bar) seen.push(bar.value / bar.max);
      };
      new MutationObserver(look).observe(document.body, { subtree: true, childList: true, attributes: true });
    });
    await page.frameLocator('iframe').locator('h1').waitFor({ timeout: 200_000 });
    const seen = await page.evaluate(() => (globalThis as unknown as { seen: number[] }).seen);
    expect(seen.length).toBeGreaterThan(3);
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    await step(page, 'Rehearse').click();
    expect(await page.locator('progress').evaluate((bar: HTMLProgressElement) => bar.value / bar.max)).toBe(1);

    await page.reload();
    await step(page, 'Handover').getByText('report ready').waitFor();
    await expect
      .poll(() => page.locator('.strip button').allInnerTexts())
      .toEqual([expect.stringMatching(/^\d\d:\d\d:\d\d glaze-line rehearsed: (meets|marginal|fails|unknown)$/)]);
    await step(page, 'Handover').click();
    expect(await page.getByRole('link', { name: 'plan.json' }).getAttribute('href')).toMatch(/\/plan\.json$/);
    await page.setViewportSize({ width: 380, height: 900 });
    expect((await page.locator('iframe').boundingBox())!.height).toBeGreaterThanOrEqual(900);
    await page.setViewportSize({ width: 1440, height: 900 });

    await step(page, 'Distance calibration').click();
    await page.locator('.figure svg').nth(1).waitFor();
    const asRehearsed = await titles(page);
    expect(asRehearsed.every((title) => title.endsWith('· simulated'))).toBe(true);
    expect(await page.getByText('These readings belong to').count()).toBe(0);

    await step(page, 'Task').click();
    await page.getByRole('combobox', { name: /^Station/ }).selectOption('vial-stopper');
    await expect.poll(() => page.locator('.head-station').textContent()).toMatch(/vial-stopper/);
    for (const name of ['Autofocus', 'Distance calibration', 'Resolution check', 'Handover']) {
      await step(page, name).click();
      expect(await page.locator('main').textContent()).toMatch(
        /These readings belong to glaze-line as rehearsed at \d\d:\d\d:\d\d; the station in the page has been changed since/,
      );
      expect(await page.locator('.ledger').textContent()).toMatch(/These readings belong to glaze-line/);
      expect(await step(page, name).textContent()).toMatch(/station changed since/);
    }
    await step(page, 'Distance calibration').click();
    await page.locator('.figure svg').nth(1).waitFor();
    expect(await titles(page)).toEqual(asRehearsed);
    expect(trouble).toEqual([]);
  });
});
