import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { commissionStation, parseStationText } from '../../src/app/index.js';
import { FocuswrightError } from '../../src/base/index.js';
import { wrapCamera } from '../../src/devices/index.js';
import type { RunObserver } from '../../src/protocol/index.js';

/** What the camera of the run was told, in order, and the power its lens stood at when it was closed. */
const seen: { calls: string[]; powerAtCloseDpt: number } = { calls: [], powerAtCloseDpt: Number.NaN };

vi.mock('../../src/app/open-bench.js', async (original) => {
  const real = await original<typeof import('../../src/app/open-bench.js')>();
  const openBench: typeof real.openBench = async (...request) => {
    const { camera, stage } = await real.openBench(...request);
    const watched = wrapCamera(camera, {
      async setFocalPower(command) {
        seen.calls.push('move');
        return camera.setFocalPower(command);
      },
      async park() {
        seen.calls.push('park');
        await camera.park();
      },
      async close() {
        seen.calls.push('close');
        await camera.clock.sleep(1000);
        seen.powerAtCloseDpt = (await camera.lensStatus()).focalPowerDpt;
        await camera.close();
      },
    });
    return { camera: watched, stage };
  };
  return { ...real, openBench };
});

const parkPowerDpt = 1.3;
const loaded = parseStationText(
  readFileSync('stations/glaze-line.yaml', 'utf8')
    .replace('widthPx: 1280', 'widthPx: 320')
    .replace('heightPx: 1024', 'heightPx: 256')
    .replace(/parkPowerDpt: \S+/, `parkPowerDpt: ${parkPowerDpt}`),
  'parked.yaml',
);

let base: string;
beforeAll(() => {
  base = mkdtempSync(join(tmpdir(), 'focuswright-ways-out-'));
});
afterAll(() => rmSync(base, { recursive: true, force: true }));
beforeEach(() => Object.assign(seen, { calls: [], powerAtCloseDpt: Number.NaN }));

const atPoint = (count: number, then: () => void): RunObserver => {
  let points = 0;
  return ({ type }) => {
    if (type === 'sweep-point' && ++points === count) then();
  };
};
const signal = { aborted: false };
const ways: { way: string; observer: RunObserver; state: string }[] = [
  { way: 'complete', observer: () => {}, state: 'complete' },
  { way: 'cancelled', observer: atPoint(9, () => Object.assign(signal, { aborted: true })), state: 'cancelled' },
  {
    way: 'device trouble',
    observer: atPoint(9, () => {
      throw new FocuswrightError('camera-link-lost', { id: 'sim:test' });
    }),
    state: 'failed',
  },
  {
    way: 'an error in the program',
    observer: atPoint(9, () => {
      throw new TypeError('broken');
    }),
    state: 'failed',
  },
];

describe('every way out of a commissioning', () => {
  it('property: the station parks at a power that is not nought', () => {
    expect(loaded.station.controls.parkPowerDpt).toBe(parkPowerDpt);
  });

  it.each(ways)(
    'property: $way: the lens is parked at its park power, then the camera closed',
    async ({ way, observer, state }) => {
      signal.aborted = false;
      const outFolder = join(base, way);
      const run = commissionStation({ loaded, cameraAddress: 'simulated', outFolder, observer, signal });
      if (way === 'an error in the program') await expect(run).rejects.toThrow('broken');
      else await run;
      expect(JSON.parse(readFileSync(join(outFolder, 'results.json'), 'utf8')).state).toBe(state);
      expect(seen.calls.slice(-2)).toEqual(['park', 'close']);
      expect(seen.calls.filter((call) => call === 'close')).toHaveLength(1);
      expect(Math.abs(seen.powerAtCloseDpt - parkPowerDpt)).toBeLessThan(0.02);
    },
    120_000,
  );

  it('property: a folder that cannot be used: closed again, the lens never moved from its park power', async () => {
    const request = { loaded, cameraAddress: 'simulated', outFolder: base, observer: () => {}, signal };
    await expect(commissionStation(request)).rejects.toMatchObject({ code: 'output-exists' });
    expect(seen.calls).toEqual(['close']);
    expect(Math.abs(seen.powerAtCloseDpt - parkPowerDpt)).toBeLessThan(0.02);
  });
});
