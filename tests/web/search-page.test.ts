import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStage, type Stage } from './browser.js';

const parts = `kind,name,source,widthPx,heightPx,pixelPitchUm,bitDepth,quantumEfficiency,gainDnPerE,fullWellE,readNoiseE,frameRateHz,readoutMs,focalLengthMm,fNumberMin,fNumberMax,clearApertureMm,powerMinDpt,powerMaxDpt,frontToPlaneMm,controlStepDpt,repeatabilityDpt,naturalFrequencyHz,dampingRatio,lengthMm
sensor,Sensor A,invented,1280,1024,4.8,8,0.6,0.02,12000,8,100,8,,,,,,,,,,,,
sensor,Sensor B,invented,2448,2048,3.45,8,0.6,0.023,10500,3,75,13,,,,,,,,,,,,
fixedLens,Lens 16 mm,invented,,,,,,,,,,,16,1.8,16,,,,,,,,,
fixedLens,Lens 75 mm,invented,,,,,,,,,,,75,2.8,16,,,,,,,,,
tunableLens,Tunable 16 mm,invented,,,,,,,,,,,,,,16,-2,3,6,0.005,0.01,90,0.6,
spacer,No spacer,invented,,,,,,,,,,,,,,,,,,,,,,0
`;

let stage: Stage;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'focuswright-parts-'));
  writeFileSync(join(folder, 'parts.csv'), parts);
  stage = await openStage('glaze-line', { partsPath: folder });
}, 120_000);
afterAll(async () => {
  await stage?.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('layout search in a browser', () => {
  it('property: searches in threads of its own, sorts by its headings, and opens a row as the station', async () => {
    const { page, trouble } = await stage.page();
    await page.getByRole('link', { name: /Search a parts library/ }).click();
    await page.getByRole('button', { name: 'Search 6 parts' }).click();
    const table = page.locator('.search-table');
    await table.waitFor({ timeout: 60_000 });
    expect(await page.locator('[role="status"]').textContent()).toMatch(/^2 choices of parts meet the task/);
    expect(await page.locator('.rejected-table').textContent()).toMatch(
      /Lens 75 mm\s*in every layout that meets reach, the field/,
    );
    expect(await page.locator('.rail [aria-current="step"]').textContent()).toMatch(/Layout/);

    const heading = page.getByRole('columnheader', { name: 'Sensor' });
    await heading.getByRole('button').focus();
    await page.keyboard.press('Enter');
    expect(await heading.getAttribute('aria-sort')).toBe('ascending');
    await page.keyboard.press('Enter');
    expect(await heading.getAttribute('aria-sort')).toBe('descending');
    expect(await table.locator('tbody tr').first().textContent()).toContain('Sensor B');

    await page.getByRole('button', { name: 'Open layout 1 as the station' }).click();
    await expect.poll(() => page.locator('.head-verdict').textContent()).toMatch(/Layout\s+(meets|marginal)/);
    expect(trouble).toEqual([]);
  }, 120_000);
});
