import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeImage, encodeTiff } from '../../src/image/index.js';
import { frameFactsHeader } from '../../src/protocol/index.js';
import { buildServer } from '../../src/server/index.js';

const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
const host = '127.0.0.1:7340';
let runsFolder: string;
let server: FastifyInstance;
beforeAll(async () => {
  runsFolder = mkdtempSync(join(tmpdir(), 'focuswright-frames-'));
  server = await buildServer({ opened: { name: 'glaze-line', yaml }, runsFolder });
});
afterAll(async () => {
  await server.close();
  rmSync(runsFolder, { recursive: true, force: true });
});
const get = (url: string) => server.inject({ url, headers: { host } });

const frame = { widthPx: 4, heightPx: 3, bitDepth: 12, data: new Uint16Array(12).fill(1234) };

function keep(name: string, below: string, table: string, results?: string) {
  mkdirSync(join(runsFolder, name, below), { recursive: true });
  writeFileSync(join(runsFolder, name, below, 'frames.csv'), table);
  writeFileSync(join(runsFolder, name, below, 'one 1.tiff'), encodeTiff(frame));
  if (results) writeFileSync(join(runsFolder, name, 'results.json'), results);
}

describe('stored frames', () => {
  it('property: handovers and recordings are listed, their frames told with how far off best focus, and handed out', async () => {
    const rows = 'file,focalPowerDpt,workingDistanceMm,source\none 1.tiff,0.5,400,sim:x\n';
    const found = { kind: 'found', workingDistanceMm: 400, focalPowerDpt: 0.4 };
    keep('run-a', 'frames', rows, JSON.stringify({ autofocus: [found] }));
    keep('recording-b', '', rows.replace('400', '410'), 'no json');
    keep('broken', '', 'file\n');
    mkdirSync(join(runsFolder, 'nothing-here'));
    const list = (await get('/api/frames')).json();
    expect(list.softwareVersion).toMatch(/^\d/);
    expect(list.folders).toEqual([
      { name: 'run-a', frames: 1 },
      { name: 'recording-b', frames: 1 },
    ]);
    const [kept] = (await get('/api/frames/run-a')).json();
    expect(kept).toMatchObject({ file: 'one 1.tiff', workingDistanceMm: 400, simulated: true, exposureMs: null });
    expect(kept.offBestFocusDpt).toBeCloseTo(0.1, 12);
    expect((await get('/api/frames/recording-b')).json()[0].offBestFocusDpt).toBeNull();
    const file = await get(kept.url);
    expect(decodeImage(file.rawPayload)).toEqual(frame);
  });

  it('property: a file is handed out whatever characters its name holds, and only what the table lists', async () => {
    const names = ['a#b.tiff', 'a?b.tiff', 'a%b.tiff', 'a%23b.tiff', 'a;b&c.tiff', 'ä ü.tiff'];
    const table = (files: string[]) =>
      `file,focalPowerDpt,workingDistanceMm\n${files.map((file) => `"${file}",0.5,400\n`).join('')}`;
    keep('odd-names', 'frames', table([...names, '../../run-a/frames/one 1.tiff']));
    const place = join(runsFolder, 'odd-names', 'frames');
    for (const [i, name] of names.entries()) {
      writeFileSync(join(place, name), encodeTiff({ ...frame, data: frame.data.map(() => i) }));
    }
    writeFileSync(join(place, 'unlisted.tiff'), encodeTiff(frame));
    const kept = (await get('/api/frames/odd-names')).json() as { url: string }[];
    for (const [i, { url }] of kept.slice(0, names.length).entries()) {
      expect(decodeImage((await get(url)).rawPayload).data[0]).toBe(i);
    }
    expect((await get(kept[names.length]!.url)).statusCode).toBe(404);
    for (const name of ['unlisted.tiff', '', 'absent.tiff', '../frames/a%23b.tiff']) {
      const answer = await get(`/api/frames/odd-names/file?name=${encodeURIComponent(name)}`);
      expect(answer.statusCode).toBe(404);
      expect(answer.json().code).toBe('not-found');
    }
    expect((await get('/api/frames/absent/file?name=a.tiff')).statusCode).toBe(404);
  });

  it('refuses folders that are not there, broken, or outside, and a frame of no camera', async () => {
    for (const name of ['broken', 'absent', '..', encodeURIComponent('../..')]) {
      expect((await get(`/api/frames/${name}`)).statusCode).toBe(404);
    }
    const none = await get('/api/camera/frame');
    expect(none.statusCode).toBe(409);
    expect(none.json()).toMatchObject({ code: 'camera-closed', remedy: expect.stringMatching(/connect/) });
  });

  it('property: a whole frame of the open camera comes with all its bits and what is known of it', async () => {
    const payload = { address: 'simulated', yaml };
    await server.inject({ method: 'POST', url: '/api/camera', headers: { host }, payload });
    const answers = await Promise.all([get('/api/camera/frame'), get('/api/camera/frame')]);
    const ids = answers.map(({ headers, rawPayload }) => {
      const facts = JSON.parse(decodeURIComponent(String(headers[frameFactsHeader])));
      expect(facts).toMatchObject({ simulated: true, focalPowerDpt: 0 });
      expect(decodeImage(rawPayload)).toMatchObject({ widthPx: 1280, heightPx: 1024, bitDepth: 8 });
      return facts.frameId;
    });
    expect(ids[1]).not.toBe(ids[0]);
    await server.inject({ method: 'DELETE', url: '/api/camera', headers: { host } });
  });
});
