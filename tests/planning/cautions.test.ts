import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });
const glaze = demoStation('glaze-line');
const powersDpt = plan(glaze).planes.map(({ neededPowerDpt }) => neededPowerDpt!);
const nearDpt = Math.max(...powersDpt);
const farDpt = Math.min(...powersDpt);

const cautions = (tunableLens: object) => plan(changed(glaze, { parts: { tunableLens } })).cautions.join('\n');

describe('cautions of a plan', () => {
  it('closed form: near and far need powers of either sign', () => {
    expect(nearDpt).toBeGreaterThan(0);
    expect(farDpt).toBeLessThan(0);
  });

  it.each([
    ['upper', { powerMaxDpt: nearDpt / 0.905 }, true],
    ['upper', { powerMaxDpt: nearDpt / 0.895 }, false],
    ['lower', { powerMinDpt: farDpt / 0.905 }, true],
    ['lower', { powerMinDpt: farDpt / 0.895 }, false],
  ])('closed form: held beyond nine tenths of its %s limit, a lens is cautioned: %j, %s', (_, limits, cautioned) => {
    expect(/near its limit: sustained current warms it/.test(cautions(limits))).toBe(cautioned);
  });

  it('closed form: a task warmer than the lens may be is cautioned, one as warm is not', () => {
    const warmest = glaze.task.temperatureMaxDegC;
    const words = `The lens may reach ${warmest} °C, its highest allowed temperature is ${warmest - 1} °C`;
    expect(cautions({ temperatureMaxDegC: warmest - 1 })).toContain(words);
    expect(cautions({ temperatureMaxDegC: warmest })).not.toContain('highest allowed temperature');
  });
});
