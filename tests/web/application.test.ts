import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';
import { writeSmallLine } from './small-line.js';

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

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

/** Violations of WCAG as axe finds them, in words. */
async function violations(page: Page): Promise<string[]> {
  // As text, past the page's own content policy.
  await page.evaluate(axeSource);
  return page.evaluate(async () => {
    const { axe } = globalThis as unknown as {
      axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
    };
    const { violations: found } = await axe.run();
    return found.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
  });
}

const mainTitle = (page: Page) => page.locator('.figure-main figcaption').textContent();

describe('web application in a browser', () => {
  it('property: opens on the layout with drawing, power ↔ distance and the verdict, and nothing in the console', async () => {
    const { page, trouble } = await stage.page();
    await page.locator('.figure svg').nth(1).waitFor();
    expect(await page.locator('.head-verdict').textContent()).toMatch(/Layout\s+(meets|marginal|fails|unknown)/);
    expect(await page.locator('.figure figcaption').allInnerTexts()).toSatisfy((titles: string[]) =>
      titles.every((t) => t.length > 10),
    );
    expect(await page.locator('.ledger-row').count()).toBeGreaterThan(4);
    expect(await page.locator('.rail li').count()).toBe(10);
    expect(trouble).toEqual([]);
  });

  it('property: a dragged value moves figures and verdict at once, without asking the server', async () => {
    const { page } = await stage.page();
    const slider = page.getByLabel('Farthest distance, mm, drag');
    await slider.waitFor();
    const before = await mainTitle(page);
    let requests = 0;
    page.on('request', () => requests++);
    await slider.fill('2500');
    await expect.poll(() => mainTitle(page)).not.toBe(before);
    await expect.poll(() => page.locator('.head-verdict').textContent()).toMatch(/fails/);
    expect(requests).toBe(0);
  });

  it('property: works by keyboard: steps and values are reached by Tab and changed by arrows', async () => {
    const { page } = await stage.page();
    const ring = page.getByLabel('Focus ring set to, mm, drag');
    await ring.waitFor();
    const names: string[] = [];
    for (let i = 0; i < 14; i++) {
      await page.keyboard.press('Tab');
      names.push(
        await page.evaluate(
          () => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '',
        ),
      );
    }
    expect(names.join('\n')).toMatch(/Task[\s\S]*Layout[\s\S]*Rehearse[\s\S]*Focus ring set to/);
    await ring.focus();
    const before = Number(await ring.inputValue());
    await page.keyboard.press('ArrowRight');
    await expect.poll(async () => Number(await ring.inputValue())).toBe(before + 5);
    await page
      .getByRole('link', { name: /Rehearse/ })
      .first()
      .focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Rehearse the commissioning' }).waitFor();
  });

  it('refuses a wrong value in the text with its line, keeps the figures, and takes it back', async () => {
    const { page } = await stage.page();
    await page.getByRole('link', { name: /Task/ }).click();
    const text = page.getByLabel('Station file');
    const yaml = await text.inputValue();
    await text.fill(yaml.replace('nearMm: 340', 'nearMm: -340'));
    await expect.poll(() => page.locator('.problems').textContent()).toMatch(/line \d+: [\s\S]*nearMm[\s\S]*-340/);
    await page.getByRole('link', { name: /Layout/ }).click();
    await page.locator('.figure-main svg').first().waitFor();
    await page.getByRole('link', { name: /Task/ }).click();
    await page.getByRole('button', { name: 'Undo all changes' }).click();
    await page.getByText('The text is a valid station').waitFor();
  });

  it('property: a rehearsal shows progress and the through-focus curve live, and ends on the report', {
    timeout: 120_000,
  }, async () => {
    const { page, trouble } = await stage.page();
    await page.getByRole('link', { name: /Rehearse/ }).click();
    await page.getByRole('button', { name: 'Start the rehearsal' }).click();
    await page.locator('.figure-main svg circle').nth(2).waitFor();
    expect(Number(await page.locator('progress').getAttribute('value'))).toBeGreaterThan(0);
    const report = page.frameLocator('iframe');
    await report.locator('h1').waitFor({ timeout: 110_000 });
    expect(await report.locator('body').textContent()).toMatch(/simulated/i);
    expect(await page.locator('.ledger h2').textContent()).toMatch(/simulated/i);
    for (const step of ['Autofocus', 'Distance calibration', 'Resolution check']) {
      await page.getByRole('link', { name: new RegExp(step) }).click();
      await page.locator('.figure svg').first().waitFor();
    }
    expect(await page.locator('.strip button').count()).toBe(1);
    expect(trouble).toEqual([]);
  });

  it('property: a cancelled rehearsal stops, says so, and keeps what was measured', { timeout: 240_000 }, async () => {
    // Five megapixels: a rehearsal of a minute or more, which no busy browser is late to cancel.
    const large = await openStage('stations/vial-stopper.yaml');
    try {
      const { page } = await large.page();
      await page.getByRole('link', { name: /Rehearse/ }).click();
      await page.getByRole('button', { name: 'Start the rehearsal' }).click();
      await page.locator('.figure-main svg circle').nth(2).waitFor();
      await page.getByRole('button', { name: 'Cancel and park the lens' }).click();
      await expect.poll(() => page.locator('.run-progress').textContent()).toMatch(/cancelled/);
      expect(await page.locator('.strip button').last().textContent()).toMatch(
        /cancelled|fails|unknown|marginal|meets/,
      );
    } finally {
      await large.close();
    }
  });

  it.each([
    ['light', 1440],
    ['dark', 1440],
    ['light', 380],
  ] as const)(
    'property: %s at %d px wide has no axe violation and does not scroll sideways',
    async (colorScheme, width) => {
      const { page } = await stage.page({ colorScheme, viewport: { width, height: 900 } });
      await page.locator('.figure svg').nth(1).waitFor();
      for (const step of ['Layout', 'Task', 'Rehearse']) {
        await page.getByRole('link', { name: new RegExp(step) }).click();
        expect(await violations(page)).toEqual([]);
        const [scroll, client] = await page.evaluate(() => [
          document.documentElement.scrollWidth,
          document.documentElement.clientWidth,
        ]);
        expect(scroll).toBeLessThanOrEqual(client!);
      }
    },
  );
});
