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
    const frames = await section.locator('.frame-strip li').count();
    expect(frames).toBeGreaterThanOrEqual(2);
    await section.getByRole('slider').fill('1');
    expect(await section.locator('.frame-strip li').count()).toBe(1);
    expect(await caption.textContent()).toMatch(/^model after 1 frame/);
    expect(trouble).toEqual([]);
  }, 200_000);
});
