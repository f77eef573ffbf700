import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { commissionStation } from '../../src/app/index.js';
import { focusHalfWidthDpt } from '../../src/procedures/index.js';
import type { CommissionRecord } from '../../src/station/index.js';
import { openPlainClient } from './plain-client.js';
import { type ServedStation, serveStation } from './served-station.js';
import { trueFocusDpt } from './true-focus.js';

// The whole way: our driver, real time, packets, a target that is placed over the wire; hidden errors found again.
describe('commission over the wire', () => {
  let served: ServedStation;
  let record: CommissionRecord;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'focuswright-commission-'));
    served = await serveStation({
      seed: 3,
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 480, heightPx: 384 });
      },
    });
    const { station, yaml, address } = served;
    ({ record } = await commissionStation({
      loaded: { station, yaml, sha256: createHash('sha256').update(yaml).digest('hex') },
      cameraAddress: `genicam:${address}`,
      outFolder: join(folder, 'handover'),
      observer: () => {},
      signal: { aborted: false },
    }));
  }, 300_000);
  afterAll(async () => {
    await served?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('recovery: best focus at each distance within 0.3 of the depth-of-field half-width of the truth', () => {
    expect(record).toMatchObject({ state: 'complete', simulated: true });
    expect(record.autofocus).toHaveLength(7);
    for (const found of record.autofocus) {
      if (found.kind !== 'found') throw new Error(found.message);
      const { workingDistanceMm, temperatureDegC } = found;
      const truthDpt = trueFocusDpt(served, { workingDistanceMm, temperatureDegC: temperatureDegC! });
      const allowed = 0.3 * focusHalfWidthDpt({ station: served.station, workingDistanceMm });
      expect(Math.abs(found.focalPowerDpt - truthDpt)).toBeLessThan(allowed);
    }
  });

  it('recovery: the distance calibration fits, and the frames are marked as simulated', () => {
    expect(record.calibration?.kind).toBe('fitted');
    expect(record.frames.length).toBeGreaterThan(50);
  });

  it('property: not one number out of its range came over the wire, and the lens was parked at the end', async () => {
    const client = await openPlainClient(served.address);
    expect(await client.get('OutOfRangeWriteCount')).toBe(0);
    expect(await client.get('FocalPowerWriteCount')).toBeGreaterThan(50);
    expect(await client.getFloat('FocalPower')).toBeCloseTo(served.station.controls.parkPowerDpt, 6);
    client.close();
  });
});
