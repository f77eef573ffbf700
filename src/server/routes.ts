import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { demoStationNames, loadStation } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';
import {
  apiError,
  partsAnswer,
  rehearsalRequest,
  runSummary,
  type StationText,
  stationSummary,
  stationText,
} from '../protocol/index.js';
import type { PartsLibrary } from '../station/index.js';
import type { RunBook } from './runs.js';

const runParams = z.object({ runId: z.string() });

/** The JSON interface of the web application. */
export function addRoutes(
  server: FastifyInstance,
  { runs, opened, parts }: { runs: RunBook; opened: StationText; parts: PartsLibrary },
): void {
  const api = server.withTypeProvider<ZodTypeProvider>();

  api.get('/api/opened', { schema: { response: { 200: stationText } } }, async () => opened);

  api.get('/api/stations', { schema: { response: { 200: z.array(stationSummary) } } }, () =>
    Promise.all(
      demoStationNames().map(async (name) => {
        const { station } = await loadStation(name);
        return { name, invented: station.invented, description: station.task.description };
      }),
    ),
  );

  api.get(
    '/api/stations/:name',
    { schema: { params: z.object({ name: z.string() }), response: { 200: stationText, 404: apiError } } },
    async ({ params }, reply) => {
      if (!demoStationNames().includes(params.name))
        return reply.code(404).send(notFound(`station ${params.name}`, demoStationNames().join(', ')));
      return { name: params.name, yaml: (await loadStation(params.name)).yaml };
    },
  );

  api.get('/api/parts', { schema: { response: { 200: partsAnswer } } }, async () => ({ ...parts }));

  api.get('/api/rehearsals', { schema: { response: { 200: z.array(runSummary) } } }, async () => runs.list());

  api.post(
    '/api/rehearsals',
    { schema: { body: rehearsalRequest, response: { 201: runSummary } } },
    async ({ body }, reply) => reply.code(201).send((await runs.start(body)).summary),
  );

  api.get(
    '/api/rehearsals/:runId',
    { schema: { params: runParams, response: { 200: runSummary, 404: apiError } } },
    async ({ params }, reply) => {
      const run = runs.find(params.runId);
      return run
        ? run.summary
        : reply.code(404).send(notFound(`rehearsal ${params.runId}`, 'those listed by /api/rehearsals'));
    },
  );

  api.delete(
    '/api/rehearsals/:runId',
    { schema: { params: runParams, response: { 200: runSummary, 404: apiError } } },
    async ({ params }, reply) => {
      const run = runs.find(params.runId);
      if (!run) return reply.code(404).send(notFound(`rehearsal ${params.runId}`, 'those listed by /api/rehearsals'));
      run.cancel();
      await run.ended;
      return run.summary;
    },
  );

  api.get('/api/rehearsals/:runId/events', { websocket: true, schema: { params: runParams } }, (socket, { params }) => {
    const run = runs.find(params.runId);
    if (!run) {
      socket.close(4404, 'no such rehearsal');
      return;
    }
    for (const event of run.events) socket.send(JSON.stringify(event));
    const stop = run.listen((event) => socket.send(JSON.stringify(event)));
    socket.on('close', stop);
  });
}

function notFound(what: string, allowed: string) {
  return { code: 'not-found', message: `There is no ${what}.`, remedy: `Choose one of: ${allowed}.` };
}

/** Answers errors of the catalogue with their remedy; wrong requests with what was wrong. */
export function addErrorAnswers(server: FastifyInstance): void {
  server.setErrorHandler((error: Error & { statusCode?: number; validation?: unknown }, _request, reply) => {
    if (error instanceof FocuswrightError) {
      const status = error.code === 'run-in-progress' ? 409 : error.code === 'output-not-writable' ? 500 : 422;
      return reply.code(status).send({ code: error.code, message: error.message, remedy: error.remedy });
    }
    const status = error.statusCode ?? 500;
    const remedy =
      status < 500
        ? 'Correct the request; /api/openapi.json describes it.'
        : 'This is a defect of the program; please report it.';
    return reply
      .code(status)
      .send({ code: status < 500 ? 'request-invalid' : 'defect', message: error.message, remedy });
  });
}
