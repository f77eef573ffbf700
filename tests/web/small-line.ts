import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** The demonstration station with a quarter of the pixels in a file of its own, so that a rehearsal takes seconds. */
export function writeSmallLine(): { path: string; remove(): void } {
  const folder = mkdtempSync(join(tmpdir(), 'focuswright-web-'));
  const yaml = readFileSync('stations/glaze-line.yaml', 'utf8')
    .replace('widthPx: 1280', 'widthPx: 640')
    .replace('heightPx: 1024', 'heightPx: 512')
    .replace(/fieldWidthMm: .*/, 'fieldWidthMm: 60')
    .replace(/fieldHeightMm: .*/, 'fieldHeightMm: 48');
  const path = join(folder, 'small-line.yaml');
  writeFileSync(path, yaml);
  return { path, remove: () => rmSync(folder, { recursive: true, force: true }) };
}
