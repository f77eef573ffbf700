import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { planStation, toleranceRun } from '../../src/planning/index.js';
import { sharePercent } from '../../src/report/index.js';
import { demoStation } from '../station/demo-stations.js';
import { openStage, type Stage } from './browser.js';

let stage: Stage;
beforeAll(async () => {
  stage = await openStage('stations/glaze-line.yaml');
});
afterAll(() => stage.close());

describe('tolerances on the layout page', () => {
  it('reference: the page builds the same stations as the library, with progress, and stays free', async () => {
    const { page, trouble } = await stage.page();
    await page.goto(`${stage.url}#/layout`);
    const section = page.getByRole('region', { name: 'Tolerances', exact: true });
    await section.getByRole('progressbar', { name: 'Stations built' }).waitFor();
    const caption = section.locator('figcaption');
    await caption.waitFor({ timeout: 60_000 });
    const station = demoStation('glaze-line');
    const run = toleranceRun({ station, stationCount: 10_000, seed: 1 });
    run.advance(10_000);
    const { all, requirements } = run.record({ stationSha256: '', softwareVersion: '' });
    expect(await caption.textContent()).toBe(
      `Of 10000 stations built, ${sharePercent(all!.now.share)} meet every requirement; ${sharePercent(all!.afterCalibration.share)} after a distance calibration`,
    );
    expect(await section.locator('tbody tr').count()).toBe(requirements.length);
    expect(trouble).toEqual([]);
  }, 90_000);

  it('reference: exposures, moves and autofocus are those of the plan', async () => {
    const { page, trouble } = await stage.page();
    await page.goto(`${stage.url}#/layout`);
    const section = page.getByRole('region', { name: 'Light, time and autofocus' });
    await section.waitFor();
    const { timing, autofocus } = planStation(demoStation('glaze-line'), { stationSha256: '', softwareVersion: '' });
    const text = (await section.textContent())!;
    for (const { plainMs } of timing.moves) expect(text).toContain(`${Number(plainMs!.toPrecision(3))} ms`);
    for (const { timeMs } of autofocus!.searches) expect(text).toContain(`${Number(timeMs!.toPrecision(3))} ms`);
    expect(trouble).toEqual([]);
  }, 120_000);
});
