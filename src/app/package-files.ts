import { fileURLToPath } from 'node:url';

/** Path of a file that ships with the package: the demo stations, the schema, the built page. */
export function packageFile(name: string): string {
  return fileURLToPath(new URL(`../../${name}`, import.meta.url));
}
