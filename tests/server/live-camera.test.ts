import '@fastify/websocket';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodeImage } from '../../src/image/index.js';
import { buildServer } from '../../src/server/index.js';

const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
const host = '127.0.0.1:7340';
let runsFolder: string;
let server: FastifyInstance;

beforeAll(async () => {
  runsFolder = mkdtempSync(join(tmpdir(), 'focuswright-live-'));
  server = await buildServer({ opened: { name: 'glaze-line', yaml }, runsFolder });
  await server.ready();
});
afterAll(async () => {
  await server.close();
  rmSync(runsFolder, { recursive: true, force: true });
});

const post = (url: string, payload: object) => server.inject({ method: 'POST', url, headers: { host }, payload });

/** Asks the feed for a picture; resolves to what is known of it and its bytes, or to trouble. */
async function picture(wanted: object): Promise<{ about: Record<string, unknown>; png: Buffer | null }> {
  const socket = await server.injectWS('/api/camera/live', { headers: { host } });
  try {
    return await new Promise((resolve) => {
      let about: Record<string, unknown> | null = null;
      socket.on('message', (data: Buffer, isBinary: boolean) => {
        if (isBinary) return resolve({ about: about!, png: data });
        about = JSON.parse(data.toString());
        if (about && 'message' in about) resolve({ about, png: null });
      });
      socket.send(JSON.stringify(wanted));
    });
  } finally {
    socket.terminate();
  }
}

describe('live view', () => {
  it('property: a camera is opened with its limits, shown as a smaller picture, moved inside its limits, and closed', async () => {
    const command = (wanted: object) => post('/api/camera/command', wanted);
    expect((await command({ focalPowerDpt: 0 })).statusCode).toBe(409);
    const opened = await post('/api/camera', { address: 'simulated', yaml });
    expect(opened.statusCode).toBe(201);
    expect(opened.json()).toMatchObject({ simulated: true, powerMinDpt: -2, powerMaxDpt: 3, hasLens: true });
    expect((await command({ focalPowerDpt: 9 })).json()).toMatchObject({ focalPowerDpt: 3 });
    const whole = await picture({ widthPx: 320 });
    expect(whole.about).toMatchObject({ focalPowerDpt: 3, widthPx: 320, heightPx: 256 });
    expect(decodeImage(whole.png!, 'live')).toMatchObject({ widthPx: 320, heightPx: 256, bitDepth: 8 });
    const part = await picture({ widthPx: 320, region: { xPx: 100, yPx: 50, widthPx: 64, heightPx: 48 } });
    expect(part.about).toMatchObject({ widthPx: 64, heightPx: 48 });
    const outside = await picture({ widthPx: 320, region: { xPx: 1270, yPx: 0, widthPx: 64, heightPx: 48 } });
    expect(outside.about).toMatchObject({ message: expect.stringContaining('inside the frame') });
    expect((await server.inject({ method: 'DELETE', url: '/api/camera', headers: { host } })).statusCode).toBe(200);
    expect((await server.inject({ url: '/api/camera', headers: { host } })).json()).toBeNull();
  });

  it('refuses a camera that is not there, with the remedy', async () => {
    const answer = await post('/api/camera', { address: 'genicam:127.0.93.7', yaml });
    expect(answer.statusCode).toBe(422);
    expect(answer.json()).toMatchObject({
      code: 'camera-not-found',
      remedy: expect.stringContaining('focuswright cameras'),
    });
  });
});
