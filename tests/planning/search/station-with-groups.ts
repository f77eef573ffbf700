import { type Station, stationSchema } from '../../../src/station/index.js';
import { demoStation } from '../../station/demo-stations.js';

/** A demonstration station with the tunable lens at the stop of a symmetrical lens of about 35 mm. */
export function stationWithGroups(ringDistanceMm: number | null): Station {
  const base = demoStation('glaze-line');
  const groupMm = 54.6;
  return stationSchema.parse({
    ...base,
    parts: {
      ...base.parts,
      fixedLens: {
        name: 'split lens',
        source: 'invented',
        focalLengthMm: 35,
        fNumberMin: 2.8,
        fNumberMax: 22,
        groups: { frontFocalLengthMm: groupMm, frontToStopMm: 12, stopToRearMm: 12, rearFocalLengthMm: groupMm },
      },
    },
    layout: { tunableLensAt: 'at-stop', gapMm: 0, fNumber: 5.6, ringDistanceMm },
  });
}
