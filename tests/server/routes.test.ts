import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildServer, startServer } from '../../src/server/index.js';

const yaml = readFileSync('stations/glaze-line.yaml', 'utf8');
let runsFolder: string;
let server: FastifyInstance;

beforeAll(async () => {
  runsFolder = mkdtempSync(join(tmpdir(), 'focuswright-server-'));
  server = await buildServer({ opened: { name: 'glaze-line', yaml }, runsFolder });
});
afterAll(async () => {
  await server.close();
  rmSync(runsFolder, { recursive: true, force: true });
});

const host = '127.0.0.1:7340';
const get = (url: string, headers: Record<string, string> = {}) =>
  server.inject({ url, headers: { host, ...headers } });
const post = (payload: object) => server.inject({ method: 'POST', url: '/api/rehearsals', headers: { host }, payload });

describe('JSON interface', () => {
  it('closed form: gives the opened station byte for byte, and lists the demonstration stations', async () => {
    expect((await get('/api/opened')).json()).toEqual({ name: 'glaze-line', yaml });
    const list = (await get('/api/stations')).json() as { name: string; invented: boolean }[];
    expect(list.map(({ name }) => name)).toEqual(['glaze-line', 'relay-pins', 'vial-stopper']);
    expect(list.every(({ invented }) => invented)).toBe(true);
  });

  it('property: every path that takes or gives data is in the OpenAPI description', async () => {
    const { paths } = (await get('/api/openapi.json')).json() as { paths: Record<string, unknown> };
    expect(Object.keys(paths)).toEqual(
      expect.arrayContaining([
        '/api/opened',
        '/api/stations',
        '/api/stations/{name}',
        '/api/rehearsals',
        '/api/rehearsals/{runId}',
      ]),
    );
  });

  it('refuses other hosts and other origins, so that no foreign page can start a run', async () => {
    expect((await get('/api/opened', { host: 'example.test' })).statusCode).toBe(403);
    expect((await get('/api/opened', { origin: 'http://example.test' })).statusCode).toBe(403);
    expect((await get('/api/opened', { origin: `http://${host}` })).statusCode).toBe(200);
  });

  it('refuses a rehearsal of a wrong station with what is wrong, of no station, and with a wrong seed', async () => {
    const wrong = await post({ yaml: yaml.replace('nearMm: 340', 'nearMm: 9999') });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.json()).toMatchObject({ code: 'station-invalid', message: expect.stringMatching(/farMm/) });
    expect((await post({})).json()).toMatchObject({ code: 'request-invalid', message: expect.stringMatching(/yaml/) });
    expect((await post({ yaml, seed: -1 })).statusCode).toBe(400);
  });

  it('refuses what does not exist with what does', async () => {
    expect((await get('/api/stations/none')).json()).toMatchObject({
      code: 'not-found',
      remedy: expect.stringMatching(/glaze-line/),
    });
    expect((await get('/api/rehearsals/none')).statusCode).toBe(404);
    expect((await get('/handovers/../package.json')).statusCode).toBe(404);
  });

  it('property: one rehearsal at a time; cancelling answers when the lens is parked and the handover written', async () => {
    const started = await post({ yaml, seed: 2 });
    expect(started.statusCode).toBe(201);
    const { runId } = started.json() as { runId: string };
    expect((await get('/api/rehearsals')).json()).toEqual([expect.objectContaining({ runId, state: 'running', yaml })]);
    expect((await post({ yaml })).json()).toMatchObject({ code: 'run-in-progress' });
    const cancelled = await server.inject({ method: 'DELETE', url: `/api/rehearsals/${runId}`, headers: { host } });
    expect(cancelled.json()).toMatchObject({ state: 'cancelled', reportUrl: `/handovers/${runId}/report.html` });
    expect((await get(`/handovers/${runId}/results.json`)).json()).toMatchObject({
      kind: 'commission',
      state: 'cancelled',
    });
    expect((await get(`/handovers/${runId}/report.html`)).body).toMatch(/cancelled/i);
  });
});

describe('starting', () => {
  it('refuses a port that is taken, and a station that cannot be read', async () => {
    const other = createServer();
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve));
    const { port } = other.address() as { port: number };
    const unmade = join(runsFolder, 'unmade');
    await expect(startServer({ port, stationPath: 'glaze-line', runsFolder: unmade })).rejects.toMatchObject({
      code: 'port-in-use',
      details: { port },
    });
    expect(existsSync(unmade)).toBe(false);
    other.close();
    await expect(startServer({ port: 0, stationPath: 'none.yaml', runsFolder })).rejects.toMatchObject({
      code: 'station-unreadable',
    });
  });
});
