import { readFileSync } from 'node:fs';
import { readStation, type Station } from '../../src/station/index.js';

/** The text of a demonstration station. */
export function demoYaml(name: string): string {
  return readFileSync(new URL(`../../stations/${name}.yaml`, import.meta.url), 'utf8');
}

/** A demonstration station. */
export function demoStation(name: string): Station {
  return readStation(demoYaml(name), { fileName: `${name}.yaml` });
}

/** The pottery line's text with one passage replaced; fails if the passage is not there once. */
export function glazeLineWith(passage: string, replacement: string): string {
  const text = demoYaml('glaze-line');
  if (text.split(passage).length !== 2) throw new Error(`"${passage}" is not once in glaze-line.yaml`);
  return text.replace(passage, () => replacement);
}
