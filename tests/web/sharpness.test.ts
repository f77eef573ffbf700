import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
beforeAll(async () => {
  stage = await openStage('stations/glaze-line.yaml');
}, 120_000);
afterAll(() => stage?.close());

describe('sharpness on the layout page', () => {
  it('property: figures and tables of sharpness follow a dragged value', async () => {
    const { page, trouble } = await stage.page();
    const title = page.locator('figcaption', { hasText: 'Smallest feature' });
    await title.waitFor();
    const before = await title.textContent();
    expect(await page.getByLabel('Table of sharpness').locator('tbody tr').count()).toBe(3);
    expect(await page.getByLabel('Table of depth of field').locator('tbody tr').count()).toBe(3);
    await page.getByLabel('Smallest feature, mm, drag').fill('0.16');
    await expect.poll(() => title.textContent()).not.toBe(before);
    expect(trouble).toEqual([]);
  });

  it('property: in a narrow window no table is cut: each row is a block that names its columns', async () => {
    const { page, trouble } = await stage.page();
    await page.setViewportSize({ width: 400, height: 900 });
    const table = page.getByLabel('Table of sharpness');
    await table.locator('td[data-column="Light in the corner"]').first().waitFor();
    const wider = await page
      .locator('.table-scroll')
      .evaluateAll((places) =>
        places
          .filter((place) => place.scrollWidth > place.clientWidth + 1)
          .map((place) => place.getAttribute('aria-label')),
      );
    expect(wider).toEqual([]);
    expect(trouble).toEqual([]);
  });

  it('property: two layouts side by side, as opened and another station, with both ledgers', async () => {
    const { page, trouble } = await stage.page();
    const comparison = page.getByLabel('Comparison');
    const choice = page.getByLabel('Beside this layout');
    await page.getByLabel('f-number, drag').fill('8');
    await choice.selectOption('as opened');
    await expect.poll(() => comparison.locator('.figure').count()).toBe(6);
    const focus = comparison
      .getByLabel('Both ledgers')
      .locator('tr', { hasText: 'Contrast at the task frequency at 545 mm' });
    const [, own, , other] = await focus.locator('td').allInnerTexts();
    expect(own).not.toBe(other);
    await choice.selectOption('vial-stopper');
    await expect
      .poll(() => comparison.locator('h3').nth(1).textContent())
      .toMatch(/vial-stopper\s+(meets|marginal|fails)/);
    expect(await comparison.getByLabel('Both ledgers').textContent()).toContain('not in this plan');
    await choice.selectOption('nothing');
    await expect.poll(() => comparison.locator('.figure').count()).toBe(0);
    expect(trouble).toEqual([]);
  });
});
