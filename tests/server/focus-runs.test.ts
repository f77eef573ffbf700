import '@fastify/websocket';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { WatchedEvent } from '../../src/app/index.js';
import { buildServer } from '../../src/server/index.js';
import { stationToYaml } from '../../src/station/index.js';
import { smallStation } from '../twin/small-station.js';

const yaml = stationToYaml(smallStation);
const host = '127.0.0.1:7340';
const region = { xPx: 32, yPx: 0, widthPx: 256, heightPx: 256 };
const scene = { yaml, seed: 2, workingDistanceMm: 420 };
let runsFolder: string;
let server: FastifyInstance;

beforeAll(async () => {
  runsFolder = mkdtempSync(join(tmpdir(), 'focuswright-focus-'));
  server = await buildServer({ opened: { name: 'glaze-line', yaml }, runsFolder });
  await server.ready();
});
afterAll(async () => {
  await server.close();
  rmSync(runsFolder, { recursive: true, force: true });
});

const post = (url: string, payload?: object) =>
  server.inject({ method: 'POST', url, headers: { host }, ...(payload && { payload }) });

/** Begins a run and follows it to its end. */
async function follow(
  payload: object,
  onEvent: (event: WatchedEvent, runId: string) => void = () => {},
): Promise<WatchedEvent[]> {
  const begun = await post('/api/focus-runs', payload);
  expect(begun.statusCode, begun.body).toBe(201);
  const { runId } = begun.json();
  const events: WatchedEvent[] = [];
  // What was told before we listen comes while the socket is being handed over.
  await new Promise<void>((resolve, reject) => {
    server
      .injectWS(
        `/api/focus-runs/${runId}/events`,
        { headers: { host } },
        {
          onInit(socket) {
            socket.on('message', (data) => {
              const event = JSON.parse(String(data)) as WatchedEvent;
              events.push(event);
              onEvent(event, runId);
              if (event.type !== 'ended') return;
              socket.terminate();
              resolve();
            });
          },
        },
      )
      .catch(reject);
  });
  return events;
}

describe('searches of the server', () => {
  it('recovery: each frame is told with its picture and belief, then the result, and where the lens stays', async () => {
    const events = await follow({ ...scene, method: 'model', region });
    const frames = events.filter((event) => event.type === 'frame');
    const result = events.find((event) => event.type === 'result')!.result;
    const end = events.at(-1)!;
    expect(result.kind).toBe('found');
    expect(frames).toHaveLength(result.frames);
    expect(frames[0]!.picture.dataUri).toMatch(/^data:image\/png;base64,/);
    expect(frames.at(-1)!.posterior!.focalPowersDpt.length).toBeGreaterThan(50);
    expect(end).toMatchObject({ type: 'ended', state: 'complete' });
    if (result.kind === 'found' && end.type === 'ended') expect(end.lensDpt).toBeCloseTo(result.focalPowerDpt, 2);
  }, 120_000);

  it('property: a cancelled search ends so, with the lens parked', async () => {
    let cancelled: Promise<unknown> | null = null;
    const events = await follow({ ...scene, method: 'full-sweep', region }, (event, runId) => {
      if (event.type === 'frame') {
        cancelled ??= server.inject({ method: 'DELETE', url: `/api/focus-runs/${runId}`, headers: { host } });
      }
    });
    await cancelled;
    expect(events.at(-1)).toEqual({
      type: 'ended',
      state: 'cancelled',
      message: 'Cancelled; the lens is parked.',
      lensDpt: smallStation.controls.parkPowerDpt,
    });
    expect(events.some((event) => event.type === 'result')).toBe(false);
  }, 120_000);

  it('recovery: on the live camera parts are announced one by one; nobody else may command it meanwhile', async () => {
    expect((await post('/api/camera', { address: 'simulated', yaml })).statusCode).toBe(201);
    let inBetween: Awaited<ReturnType<typeof post>> | null = null;
    const parts = { count: 2, nearMm: 340, farMm: 545, isTold: false };
    const events = await follow({ ...scene, camera: 'live', method: 'model', region, parts }, (event, runId) => {
      if (event.type !== 'waiting') return;
      void post('/api/camera/command', { focalPowerDpt: 1 }).then((answer) => {
        inBetween ??= answer;
        return post(`/api/focus-runs/${runId}/part`);
      });
    });
    expect(inBetween!.json()).toMatchObject({ code: 'run-in-progress' });
    expect(events.flatMap((event) => (event.type === 'part' ? event.part.result.kind : []))).toEqual([
      'found',
      'found',
    ]);
    expect(events.find((event) => event.type === 'summary')).toMatchObject({
      summary: { partCount: 2, state: 'complete' },
    });
    expect((await post('/api/camera/command', { focalPowerDpt: 1 })).json()).toMatchObject({ focalPowerDpt: 1 });
    await server.inject({ method: 'DELETE', url: '/api/camera', headers: { host } });
  }, 120_000);

  it('property: a run that waits is still found, and can be cancelled, after others have come and gone', async () => {
    await post('/api/camera', { address: 'simulated', yaml });
    const parts = { count: 2, nearMm: 340, farMm: 545, isTold: false };
    const begin = async (payload: object) => (await post('/api/focus-runs', payload)).json().runId as string;
    const cancel = (runId: string) =>
      server.inject({ method: 'DELETE', url: `/api/focus-runs/${runId}`, headers: { host } });
    const waiting = await begin({ ...scene, camera: 'live', method: 'model', region, parts });
    for (let i = 0; i < 5; i++) {
      const short = await begin({ ...scene, method: 'full-sweep', region });
      expect((await cancel(short)).statusCode).toBe(200);
    }
    expect((await cancel(waiting)).statusCode).toBe(200);
    expect((await post('/api/camera/command', { focalPowerDpt: 1 })).json()).toMatchObject({ focalPowerDpt: 1 });
    await server.inject({ method: 'DELETE', url: '/api/camera', headers: { host } });
  }, 120_000);

  it.each([
    [{ region: { xPx: 200, yPx: 0, widthPx: 256, heightPx: 64 } }, 422, 'region-outside-frame'],
    [{ region: { xPx: 0, yPx: 0, widthPx: 40, heightPx: 64 } }, 422, 'region-too-small'],
    [{ camera: 'live' }, 422, 'camera-closed'],
    [{ method: 'guess' }, 400, 'request-invalid'],
  ])('refuses: %j', async (changed, status, code) => {
    const answer = await post('/api/focus-runs', { ...scene, method: 'model', region, ...changed });
    expect([answer.statusCode, answer.json().code]).toEqual([status, code]);
  });

  it('refuses: a search that nobody began', async () => {
    for (const method of ['DELETE', 'POST'] as const) {
      const url = `/api/focus-runs/none${method === 'POST' ? '/part' : ''}`;
      expect((await server.inject({ method, url, headers: { host } })).statusCode).toBe(404);
    }
  });
});
