import { readFileSync } from 'node:fs';
import { readStation, type Station } from '../../src/station/index.js';

const glazeLine = readStation(readFileSync('stations/glaze-line.yaml', 'utf8'), { fileName: 'glaze-line.yaml' });

/** The demonstration station with a sensor of 320 × 256 pixels, so that tests are quick. */
export const smallStation: Station = {
  ...glazeLine,
  parts: { ...glazeLine.parts, sensor: { ...glazeLine.parts.sensor, widthPx: 320, heightPx: 256 } },
};

/** The same with other values of its tunable lens. */
export const withLens = (lens: Partial<Station['parts']['tunableLens']>): Station => ({
  ...smallStation,
  parts: { ...smallStation.parts, tunableLens: { ...smallStation.parts.tunableLens, ...lens } },
});

/** The same with other values of its sensor. */
export const withSensor = (sensor: Partial<Station['parts']['sensor']>): Station => ({
  ...smallStation,
  parts: { ...smallStation.parts, sensor: { ...smallStation.parts.sensor, ...sensor } },
});
