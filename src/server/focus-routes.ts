import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { openWatchedScene, parseStationText, watchScene } from '../app/index.js';
import {
  apiError,
  type FocusRunRequest,
  focusPicture,
  focusRunBegun,
  focusRunRequest,
  focusSceneRequest,
} from '../protocol/index.js';
import { openFocusRunBook } from './focus-runs.js';
import type { LiveHolder } from './live-holder.js';

const runParams = z.object({ runId: z.string() });

/** Searches for focus: one begins with POST, tells its steps over a WebSocket, and is cancelled with DELETE. */
export function addFocusRoutes(server: FastifyInstance, live: LiveHolder): void {
  const api = server.withTypeProvider<ZodTypeProvider>();
  const runs = openFocusRunBook();
  server.addHook('preClose', () => runs.close());

  const stationOf = ({ yaml }: { yaml: string }) => parseStationText(yaml, 'the station in the page').station;

  /** The camera that is asked for, and the way to give it back. */
  async function benchOf(body: Pick<FocusRunRequest, 'camera' | 'yaml' | 'seed' | 'workingDistanceMm'>) {
    if (body.camera === 'live') {
      const { camera, release } = live.borrow();
      return { bench: camera.focusBench, release: async () => release() };
    }
    const bench = await openWatchedScene({ ...body, station: stationOf(body) });
    return { bench, release: () => bench.device.close() };
  }

  api.post(
    '/api/focus-scene',
    { schema: { body: focusSceneRequest, response: { 200: focusPicture } } },
    async ({ body }) => {
      const { bench, release } = await benchOf(body);
      try {
        return await watchScene(bench);
      } finally {
        await release();
      }
    },
  );

  api.post(
    '/api/focus-runs',
    { schema: { body: focusRunRequest, response: { 201: focusRunBegun } } },
    async ({ body }, reply) => {
      const { method, region, parts } = body;
      const { bench, release } = await benchOf(body);
      const { powerMinDpt, powerMaxDpt } = await bench.camera.capabilities().catch(async (error: unknown) => {
        await release();
        throw error;
      });
      const station = body.camera === 'live' ? bench.world! : stationOf(body);
      const trigger =
        parts && body.camera === 'simulated'
          ? {
              kind: 'stage' as const,
              distancesMm: { nearMm: Math.min(parts.nearMm, parts.farMm), farMm: Math.max(parts.nearMm, parts.farMm) },
              isTold: parts.isTold,
            }
          : null;
      const run = await runs.start(bench, {
        station,
        method,
        region,
        parts: parts ? { count: parts.count, trigger } : null,
        release,
      });
      return reply.code(201).send({ runId: run.runId, powerMinDpt, powerMaxDpt });
    },
  );

  api.delete(
    '/api/focus-runs/:runId',
    { schema: { params: runParams, response: { 200: z.null(), 404: apiError } } },
    async ({ params }, reply) => {
      const run = runs.find(params.runId);
      if (!run) return reply.code(404).send(unknownRun(params.runId));
      run.cancel();
      await run.ended;
      return null;
    },
  );

  api.post(
    '/api/focus-runs/:runId/part',
    { schema: { params: runParams, response: { 200: z.null(), 404: apiError } } },
    async ({ params }, reply) => {
      const run = runs.find(params.runId);
      if (!run) return reply.code(404).send(unknownRun(params.runId));
      run.partIsThere();
      return null;
    },
  );

  api.get('/api/focus-runs/:runId/events', { websocket: true, schema: { params: runParams } }, (socket, { params }) => {
    const run = runs.find(params.runId);
    if (!run) return socket.close(4404, 'no such search');
    for (const event of run.events) socket.send(JSON.stringify(event));
    const stop = run.listen((event) => socket.send(JSON.stringify(event)));
    socket.on('close', stop);
  });
}

const unknownRun = (runId: string) => ({
  code: 'not-found',
  message: `There is no search ${runId}.`,
  remedy: 'Begin one anew; only the last few are kept.',
});
