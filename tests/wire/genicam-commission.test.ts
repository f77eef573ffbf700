import { randomInt } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { commissionStation } from '../../src/app/index.js';
import type { RunEvent } from '../../src/protocol/index.js';
import type { CommissionRecord } from '../../src/station/index.js';
import { stationToYaml } from '../../src/station/index.js';
import { arvControl } from './aravis.js';
import { type ServedStation, serveStation } from './served-station.js';

const folder = mkdtempSync(join(tmpdir(), 'focuswright-wire-commission-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('commissioning over the wire', () => {
  it('recovery: a whole run by IP address, with the camera killed on the way; replayed to the same result', async () => {
    const order: Parameters<typeof serveStation>[0] = {
      change: (file) => Object.assign(file.parts.sensor, { widthPx: 480, heightPx: 384 }),
      seed: 5,
      // The camera that comes back is the same one.
      options: ['--serial', `test-${randomInt(36 ** 6).toString(36)}`],
    };
    let served: ServedStation = await serveStation(order);
    const { station, address } = served;
    const loaded = { station, yaml: stationToYaml(station), sha256: 'a'.repeat(64) };
    const notices: string[] = [];
    let points = 0;
    let again: Promise<void> | null = null;
    const observer = (event: RunEvent) => {
      if (event.type === 'notice') notices.push(event.message);
      if (event.type !== 'sweep-point' || ++points !== 5) return;
      again = served.kill().then(async () => {
        served = await serveStation({ ...order, address });
      });
    };
    const first = await commissionStation({
      loaded,
      cameraAddress: `genicam:${address}`,
      outFolder: join(folder, 'run'),
      observer,
      signal: { aborted: false },
    });
    await again;
    const { record } = first;
    expect(record.stateReason).toBeNull();
    expect(record).toMatchObject({
      state: 'complete',
      simulated: true,
      device: { id: `sim:genicam:${served.serialNumber}` },
    });
    // Told in turns; a machine too busy to answer in time may lose the link once more, and it comes back as well.
    expect(notices.length).toBeGreaterThanOrEqual(2);
    expect(notices).toEqual(notices.map((_, i) => expect.stringContaining(i % 2 === 0 ? 'lost' : 'back')));
    expect(notices.length % 2).toBe(0);
    expect(record.calibration).not.toBeNull();
    expect(record.autofocus.every(({ kind }) => kind === 'found')).toBe(true);
    // Nothing out of range reached the camera, and it is parked.
    const said = await arvControl(address, 'OutOfRangeWriteCount', 'FocalPower');
    expect(said[0]).toContain('= 0');
    expect(said[1]).toContain(`FocalPower = ${station.controls.parkPowerDpt} `);
    await served.close();

    const replayed = await commissionStation({
      loaded,
      cameraAddress: `replay:${first.folder}`,
      outFolder: join(folder, 'again'),
      observer: () => {},
      signal: { aborted: false },
    });
    expect(resultsOf(replayed.record)).toEqual(resultsOf(record));
    // tests/app/replay.test.ts is strict about times. Here the run computed between its calls, and a timer may end 1 ms early.
    const earlyMs = 2;
    expect(replayed.record.elapsedMs).toBeLessThanOrEqual(record.elapsedMs + earlyMs);
    expect(replayed.record.elapsedMs).toBeGreaterThan(0.5 * record.elapsedMs);
    expect(readFileSync(join(folder, 'again/frames/frames.csv'), 'utf8')).toBe(
      readFileSync(join(folder, 'run/frames/frames.csv'), 'utf8'),
    );
  }, 400_000);
});

/** What was found: all but when, how fast and from where. */
function resultsOf({ startedOn: _on, provenance: _from, ...found }: CommissionRecord) {
  return JSON.parse(JSON.stringify(found, (key, value) => (key === 'elapsedMs' ? undefined : value)));
}
