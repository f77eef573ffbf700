import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { commissionStation, parseStationText } from '../../src/app/index.js';

const loaded = parseStationText(
  readFileSync('stations/glaze-line.yaml', 'utf8')
    .replace('widthPx: 1280', 'widthPx: 320')
    .replace('heightPx: 1024', 'heightPx: 256'),
  'replayed.yaml',
);

describe('a recorded run, replayed', () => {
  let base: string;
  beforeAll(() => {
    base = mkdtempSync(join(tmpdir(), 'focuswright-replay-'));
  });
  afterAll(() => rmSync(base, { recursive: true, force: true }));

  const run = (cameraAddress: string, name: string) =>
    commissionStation({
      loaded,
      cameraAddress,
      outFolder: join(base, name),
      observer: () => {},
      signal: { aborted: false },
    });

  it('property: on a clock that stands still while code runs, it comes to the same record, times included', async () => {
    const first = await run('simulated', 'first');
    const again = await run(`replay:${first.folder}`, 'again');
    const [{ startedOn: _on, provenance: _from, ...recorded }, { startedOn, provenance, ...replayed }] = [
      first.record,
      again.record,
    ];
    expect(replayed).toEqual(recorded);
    expect(replayed.elapsedMs).toBeGreaterThan(1000);
    expect(readFileSync(join(base, 'again/frames/frames.csv'), 'utf8')).toBe(
      readFileSync(join(base, 'first/frames/frames.csv'), 'utf8'),
    );
  }, 120_000);
});
