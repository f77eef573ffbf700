import { readFileSync } from 'node:fs';
import { packageFile } from './package-files.js';

/** Version of this software, as every result carries it. */
export const softwareVersion: string = (
  JSON.parse(readFileSync(packageFile('package.json'), 'utf8')) as { version: string }
).version;
