import { describe, expect, it } from 'vitest';
import { listFolder, readBytes, readJson, readPixels, readRows, sha256 } from './folder.js';

interface Manifest {
  script: string;
  packages: Record<string, string>;
  photograph: { name: string; licence: string };
  files: Record<string, string>;
  frames: Record<string, { sha256: string; pixelsSha256: string }>;
}

describe.each([
  { folder: 'recorded-frames', script: 'make_frames.py', limitBytes: 4_000_000 },
  { folder: 'focus-run', script: 'make_run.py', limitBytes: 1_000_000 },
])('$folder', ({ folder, script, limitBytes }) => {
  const manifest = readJson<Manifest>(`${folder}/manifest.json`);

  it('reference: every file has the hash the script wrote down', () => {
    for (const [name, hash] of Object.entries(manifest.files))
      expect(sha256(readBytes(`${folder}/${name}`)), name).toBe(hash);
    for (const [name, { sha256: hash }] of Object.entries(manifest.frames)) {
      expect(sha256(readBytes(`${folder}/${name}`)), name).toBe(hash);
    }
  });

  it('reference: decoded pixels are those that were computed', () => {
    for (const [name, { pixelsSha256 }] of Object.entries(manifest.frames)) {
      const pixels = Uint16Array.from(readPixels(`${folder}/${name}`).values);
      expect(sha256(new Uint8Array(pixels.buffer)), name).toBe(pixelsSha256);
    }
  });

  it('property: the folder holds the listed files and nothing else', () => {
    const listed = [...Object.keys(manifest.files), ...Object.keys(manifest.frames), 'manifest.json', script].sort();
    expect(listFolder(folder).filter((name) => name !== '__pycache__')).toEqual(listed);
    expect(readRows(folder).map((row) => row.file)).toEqual(Object.keys(manifest.frames));
  });

  it('property: script, package versions and licence are recorded and the folder stays small', () => {
    expect(manifest.script).toBe(`references/${folder}/${script}`);
    expect(readBytes(`${folder}/${script}`).length).toBeGreaterThan(0);
    for (const name of ['python3-numpy', 'python3-scipy', 'python3-skimage', 'python3-pil', 'python3-yaml']) {
      expect(manifest.packages[name], name).toMatch(/^\d/);
    }
    expect(manifest.photograph.licence).toBe('CC0');
    const size = listFolder(folder).reduce(
      (sum, name) => sum + (name === '__pycache__' ? 0 : readBytes(`${folder}/${name}`).length),
      0,
    );
    expect(size).toBeLessThan(limitBytes);
  });
});
