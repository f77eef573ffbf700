import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { type Station, type StationInput, stationSchema } from '../../src/station/index.js';

const text = readFileSync(fileURLToPath(new URL('../../stations/glaze-line.yaml', import.meta.url)), 'utf8');

/** The invented glazed-ware station, with changes to its file. */
export function glazeStation(change: (file: StationInput) => void = () => {}): Station {
  const file = parse(text) as StationInput;
  change(file);
  return stationSchema.parse(file);
}
