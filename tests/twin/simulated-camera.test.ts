import { describe, expect, it } from 'vitest';
import type { Station } from '../../src/station/index.js';
import { createSimulatedBench } from '../../src/twin/index.js';
import { smallStation } from './small-station.js';

const station: Station = { ...smallStation, controls: { ...smallStation.controls, parkPowerDpt: 0.7 } };

describe('simulated camera', () => {
  it('closed form: a bench starts parked, and parks again, at the station’s own power', async () => {
    const { camera } = createSimulatedBench({ station, seed: 1 });
    const powerDpt = async () => (await camera.lensStatus()).focalPowerDpt;
    expect(await powerDpt()).toBeCloseTo(0.7, 9);
    await camera.setFocalPower({ focalPowerDpt: -1 });
    expect(await powerDpt()).toBeCloseTo(-1, 9);
    await camera.park();
    expect(await powerDpt()).toBeCloseTo(0.7, 9);
  });
});
