import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
beforeAll(async () => {
  stage = await openStage('relay-pins');
}, 120_000);
afterAll(async () => stage?.close());

describe('station fields in a browser', () => {
  it('property: unsaved changes outlive a reload and a switch of stations, and are dropped by undoing', async () => {
    const { page } = await stage.page();
    await page.getByRole('link', { name: /Task/ }).click();
    const text = page.getByLabel('Station file');
    const choice = page.getByRole('combobox', { name: /^Station/ });
    await choice.selectOption('vial-stopper');
    await expect.poll(() => text.inputValue()).toMatch(/^station: vial-stopper/m);
    const opened = await text.inputValue();
    await text.fill(`${opened}# a note of mine\n`);
    await choice.selectOption('relay-pins');
    await expect.poll(() => text.inputValue()).toMatch(/^station: relay-pins/m);
    expect(await text.inputValue()).not.toMatch(/a note of mine/);
    await choice.selectOption('vial-stopper');
    await expect.poll(() => text.inputValue()).toBe(`${opened}# a note of mine\n`);
    await page.reload();
    await expect.poll(() => text.inputValue()).toBe(`${opened}# a note of mine\n`);
    await page.getByRole('button', { name: 'Undo all changes' }).click();
    await page.reload();
    await expect.poll(() => text.inputValue()).toBe(opened);
  });

  it('property: a draft that is no station still opens, with the figures of the text as opened', async () => {
    const { page } = await stage.page();
    await page.getByRole('link', { name: /Task/ }).click();
    const text = page.getByLabel('Station file');
    await text.fill((await text.inputValue()).replace('nearMm: 138', 'nearMm: -1'));
    await page.locator('.problems').waitFor();
    await page.reload();
    expect(await page.locator('.problems').textContent()).toMatch(/line \d+: [\s\S]*nearMm/);
    expect(await page.locator('.head-station').textContent()).toMatch(/relay-pins/);
  });

  it('property: a number is typed through values that are not allowed, and what is refused stays beside its message', async () => {
    const { page } = await stage.page();
    const number = page.locator('.value-field', { hasText: 'f-number' }).locator('input[type=number]');
    await number.waitFor();
    await number.fill('');
    await number.pressSequentially('16');
    expect(await number.inputValue()).toBe('16');
    await expect.poll(() => page.getByRole('alert').count()).toBe(0);
    await number.fill('0');
    await page.getByRole('alert').waitFor();
    expect(await number.inputValue()).toBe('0');
    const problem = page.locator('.value-problem');
    expect(await problem.textContent()).toMatch(/fNumber is 0; allowed: ≥ 0.5 and ≤ 64/);
    await page.reload();
    await problem.waitFor();
    expect(await number.inputValue()).toBe('0');
    expect(await number.getAttribute('aria-invalid')).toBe('true');
    await number.fill('8');
    await expect.poll(() => page.getByRole('alert').count()).toBe(0);
  });

  it('property: figures after many changes are, to the last attribute, those drawn anew', async () => {
    const { page } = await stage.page();
    const value = (label: string) => page.locator('.value-field', { hasText: label }).locator('input[type=number]');
    await value('f-number').waitFor();
    for (const fNumber of [2.8, 4, 4.1, 11, 16, 5.6]) await value('f-number').fill(String(fNumber));
    for (const featureMm of [0.005, 0.4, 0.02]) await value('Smallest feature').fill(String(featureMm));
    for (const farMm of [260, 900, 150]) await value('Farthest distance').fill(String(farMm));
    const count = await page.evaluate(() => {
      const kept = [...document.querySelectorAll('.figure svg[role=img]')].map((svg) => svg.cloneNode(true));
      // The figure of tolerances, the eighth, follows when the values have rested.
      Object.assign(window, { kept: kept.slice(0, 7) });
      return kept.length;
    });
    expect(count).toBeGreaterThan(5);
    await page.getByRole('link', { name: /Task/ }).click();
    await page.getByRole('link', { name: /Layout/ }).click();
    await value('f-number').waitFor();
    const same = () =>
      page.evaluate(() => {
        const { kept } = window as unknown as { kept: Node[] };
        const anew = [...document.querySelectorAll('.figure svg[role=img]')];
        return kept.filter((figure, i) => anew[i] && figure.isEqualNode(anew[i])).length / kept.length;
      });
    // The sizes are known a moment after the page.
    await expect.poll(same).toBe(1);
  });

  it('property: a ring at infinity is shown as such, takes a distance, and goes back to null in the text', async () => {
    const { page } = await stage.page();
    const drag = page.getByLabel('Focus ring set to, mm, drag');
    const infinity = page.getByLabel('Focus ring set to infinity');
    await infinity.waitFor();
    expect(await infinity.isChecked()).toBe(true);
    expect(await drag.isDisabled()).toBe(true);
    expect(await page.locator('.value-fields').textContent()).not.toMatch(/10.?000/);
    await infinity.uncheck();
    await drag.fill('500');
    await expect.poll(() => page.getByLabel('Focus ring set to', { exact: true }).inputValue()).toBe('500');
    await page.getByRole('link', { name: /Task/ }).click();
    expect(await page.getByLabel('Station file').inputValue()).toMatch(/ringDistanceMm: 500/);
    await page.getByRole('link', { name: /Layout/ }).click();
    await infinity.check();
    await page.getByRole('link', { name: /Task/ }).click();
    expect(await page.getByLabel('Station file').inputValue()).toMatch(/ringDistanceMm: null/);
  });

  it('refuses a seed that is no whole number of 32 bits, in words, and changes nothing of it', async () => {
    const { page } = await stage.page();
    await page.getByRole('link', { name: /Rehearse/ }).click();
    const seed = page.getByLabel('Seed of the hidden errors');
    const start = page.getByRole('button', { name: 'Start the rehearsal' });
    for (const wrong of ['', '-1', '1.5', '1e3', '4294967296', 'seven']) {
      await seed.fill(wrong);
      expect(await page.locator('#seed-problem').textContent()).toMatch(/whole number from 0 to 4294967295/);
      expect(await start.isDisabled()).toBe(true);
      expect(await seed.inputValue()).toBe(wrong);
    }
    await seed.fill('4294967295');
    await expect.poll(() => start.isEnabled()).toBe(true);
  });

  it('property: at 380 px the active step is in sight, a pure number names no unit', async () => {
    const { page } = await stage.page({ viewport: { width: 380, height: 900 } });
    await page.getByLabel('f-number, drag', { exact: true }).waitFor();
    await page.evaluate(() => {
      location.hash = '/resolution';
    });
    const active = page.locator('.rail [aria-current="step"]');
    await expect.poll(() => active.textContent()).toMatch(/Resolution/);
    const box = (await active.boundingBox())!;
    expect(box.x).toBeGreaterThanOrEqual(0);
    expect(box.x + box.width).toBeLessThanOrEqual(380);
    expect(await page.getByLabel('Theme').count()).toBe(1);
  });
});
