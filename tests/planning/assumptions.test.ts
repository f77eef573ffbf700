import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const glaze = demoStation('glaze-line');
const assumed = (tunableLens: object) =>
  planStation(changed(glaze, { parts: { tunableLens } }), { stationSha256: '', softwareVersion: '' }).assumptions;

describe('assumptions', () => {
  it('closed form: a surface of 16 mm at 3 dpt and index 1.3 bulges by 0.32 mm: a lens thinner than that is named', () => {
    expect(assumed({ frontToPlaneMm: 0.33 }).join()).not.toMatch(/thinner/);
    const [thin] = assumed({ frontToPlaneMm: 0.31 }).filter((text) => text.includes('thinner'));
    expect(thin).toMatch(/thinner than its clear aperture demands: at 3 dpt its surface of 16 mm bulges by 0\.32 mm/);
  });
});
