import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
beforeAll(async () => {
  stage = await openStage('stations/glaze-line.yaml');
});
afterAll(() => stage.close());

describe('autofocus page', () => {
  it('recovery: the region is dragged, focus is found on the simulated camera, and each frame can be looked at', async () => {
    const { page, trouble } = await stage.page();
    await page.goto(`${stage.url}#/autofocus`);
    const section = page.getByRole('region', { name: 'Search for focus' });
    const box = section.getByRole('button', { name: /^Region 256 × 256/ });
    await box.waitFor({ timeout: 60_000 });
    const before = await box.getAttribute('aria-label');
    const from = (await box.boundingBox())!;
    await page.mouse.move(from.x + 20, from.y + 20);
    await page.mouse.down();
    await page.mouse.move(from.x + 50, from.y + 35);
    await page.mouse.up();
    const after = await section.getByRole('button', { name: /^Region 256/ }).getAttribute('aria-label');
    expect(after).not.toBe(before);
    await section.getByRole('button', { name: /^Region 256/ }).press('ArrowLeft');
    expect(await section.getByRole('button', { name: /^Region 256/ }).getAttribute('aria-label')).not.toBe(after);
    await section.getByRole('button', { name: 'Find focus' }).click();
    const caption = section.locator('figcaption');
    await caption.filter({ hasText: /model (finds|refuses)/ }).waitFor({ timeout: 90_000 });
    expect(await caption.textContent()).toMatch(/^model finds −?\d\.\d{3} ± .*\sdpt with \d+ frames? · simulated$/);
    // What a frame tells is shown with its place; after `found` the lens stays.
    await section.getByText(/The lens stays at −?\d\.\d{3} dpt/).waitFor();
    const frames = await section.locator('.frame-strip li').count();
    expect(frames).toBeGreaterThanOrEqual(2);
    await section.getByRole('slider').fill('1');
    expect(await section.locator('.frame-strip li').count()).toBe(1);
    expect(await caption.textContent()).toMatch(/^model after 1 frame/);
    expect(trouble).toEqual([]);
  }, 300_000);

  it('property: a comparison is cancelled in the middle, what was found until then stays', async () => {
    const { page, trouble } = await stage.page();
    await page.goto(`${stage.url}#/autofocus`);
    const section = page.getByRole('region', { name: 'Search for focus' });
    await section.getByRole('button', { name: /^Region 256 × 256/ }).waitFor({ timeout: 60_000 });
    await section.getByRole('button', { name: 'Compare all ways' }).click();
    const table = section.getByRole('region', { name: 'Comparison of the ways to look' });
    await table.getByRole('row', { name: /^full-sweep .* looking/ }).waitFor({ timeout: 120_000 });
    await section.getByRole('button', { name: 'Cancel' }).click();
    await section.getByRole('alert').filter({ hasText: 'Cancelled; the lens is parked.' }).waitFor({ timeout: 60_000 });
    await table.getByRole('row', { name: /^full-sweep .* cancelled/ }).waitFor();
    expect(await table.getByRole('row').count()).toBe(3);
    expect(await section.getByRole('button', { name: 'Find focus' }).isEnabled()).toBe(true);
    expect(trouble).toEqual([]);
  }, 300_000);

  it('recovery: parts in turn, each in the figure and in the list; region by texture', async () => {
    const { page, trouble } = await stage.page();
    await page.goto(`${stage.url}#/autofocus`);
    const section = page.getByRole('region', { name: 'Search for focus' });
    await section.getByRole('button', { name: /^Region 256 × 256/ }).waitFor({ timeout: 60_000 });
    await section.getByLabel('Region by texture').check();
    const parts = page.getByRole('region', { name: 'Parts in turn' });
    await parts.getByRole('spinbutton').fill('3');
    await parts.getByRole('button', { name: 'Follow parts' }).click();
    await parts.getByRole('cell', { name: /± / }).first().waitFor({ timeout: 120_000 });
    await parts
      .locator('figcaption')
      .filter({ hasText: /of 3 parts in focus, median/ })
      .waitFor({ timeout: 120_000 });
    expect(await parts.getByRole('row').count()).toBe(4);
    expect(trouble).toEqual([]);
  }, 300_000);

  it('property: with no rehearsal the path says that a search can be run', async () => {
    const { page } = await stage.page();
    await page.goto(`${stage.url}#/autofocus`);
    await page.getByRole('link', { name: /Autofocus ready to search/ }).waitFor();
  }, 120_000);
});
