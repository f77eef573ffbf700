import { describe, expect, it } from 'vitest';
import { loadStation, runTolerance } from '../../src/app/index.js';
import { planDetailsText } from '../../src/cli/plan-details-text.js';
import { toleranceText } from '../../src/cli/tolerance-text.js';
import { planStation } from '../../src/planning/index.js';
import { changed } from '../planning/changed-station.js';
import { demoStation } from '../station/demo-stations.js';

const plain = (text: string) => text.replaceAll('\u202F', ' ');

describe('tolerance on the command line', () => {
  it('closed form: every requirement, its shares and the first contributors', async () => {
    const loaded = await loadStation('relay-pins');
    const seen: number[] = [];
    const record = await runTolerance(loaded, { stationCount: 600, seed: 3, onProgress: (done) => seen.push(done) });
    expect(seen).toEqual([250, 500, 600]);
    expect(record).toMatchObject({ stationCount: 600, seed: 3, stationSha256: loaded.sha256, refusal: null });
    const text = plain(toleranceText(record));
    expect(text).toMatch(/^relay-pins \(invented demonstration data\): 600 stations built, seed 3\n/);
    expect(text).toContain(`${(100 * record.all!.now.share).toFixed(1)} % (`);
    for (const { title } of record.requirements) expect(text).toContain(title);
    expect(text).toMatch(
      /Contrast as focused at 142 mm: Focal length of the fixed lens 5\d\.\d %.*; after calibration /,
    );
  });

  it('degenerate: a cancelled run ends with its code', async () => {
    const loaded = await loadStation('glaze-line');
    const run = runTolerance(loaded, { stationCount: 100_000, seed: 1, signal: { aborted: true } });
    await expect(run).rejects.toMatchObject({ code: 'cancelled' });
  });

  it('degenerate: a refusal says why and what to do', async () => {
    const record = await runTolerance(await loadStation('glaze-line'), { stationCount: 1, seed: 1 });
    const refusal = { reason: 'a plane is focused by no power', remedy: 'see the rows on reach in the plan' };
    expect(toleranceText({ ...record, refusal, all: null, requirements: [] })).toBe(
      'glaze-line (invented demonstration data): a plane is focused by no power\n    → see the rows on reach in the plan',
    );
  });

  it('closed form: light, moves and autofocus of a plan in lines', () => {
    const about = { stationSha256: '', softwareVersion: '' };
    const text = plain(planDetailsText(planStation(demoStation('glaze-line'), about)).join('\n'));
    expect(text).toMatch(/Light: 40 µW\/cm² on the sensor from white \(as stated\)\./);
    expect(text).toMatch(/motion allows 2\.62 ms/);
    expect(text).toMatch(/far → near +1\.0\d+ +10\.\d ms/);
    expect(text).toMatch(/three probes +0\.0\d+ +0\.01 +100 %/);
    const creeping = changed(demoStation('glaze-line'), { parts: { tunableLens: { dampingRatio: 1.5 } } });
    expect(planDetailsText(planStation(creeping, about)).join('\n')).toMatch(/does not ring/);
  });
});
