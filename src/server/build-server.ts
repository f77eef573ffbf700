import { resolve } from 'node:path';
import fastifyStatic from '@fastify/static';
import fastifySwagger from '@fastify/swagger';
import fastifyWebsocket from '@fastify/websocket';
import Fastify, { type FastifyInstance } from 'fastify';
import { jsonSchemaTransform, serializerCompiler, validatorCompiler } from 'fastify-type-provider-zod';
import { loadParts, packageFile, softwareVersion } from '../app/index.js';
import type { StationText } from '../protocol/index.js';
import type { PartsLibrary } from '../station/index.js';
import { addCameraRoutes } from './camera-routes.js';
import { addFocusRoutes } from './focus-routes.js';
import { addFrameRoutes } from './frame-routes.js';
import { addGuards } from './guards.js';
import { liveHolder } from './live-holder.js';
import { addErrorAnswers, addRoutes } from './routes.js';
import { openRunBook } from './runs.js';

/** What the server shows and where it writes. */
export interface ServerSettings {
  /** Station the page opens on. */
  opened: StationText;
  /** Folder for the handovers of rehearsals. */
  runsFolder: string;
  /** What a layout search chooses from; without it the library that ships with the package. */
  parts?: PartsLibrary;
}

/** Builds the server without listening, so that a test can call it without a socket. */
export async function buildServer({ opened, runsFolder, parts }: ServerSettings): Promise<FastifyInstance> {
  const server = Fastify({ bodyLimit: 400_000, forceCloseConnections: true });
  server.setValidatorCompiler(validatorCompiler);
  server.setSerializerCompiler(serializerCompiler);
  addErrorAnswers(server);
  addGuards(server);
  await server.register(fastifySwagger, {
    openapi: { openapi: '3.1.0', info: { title: 'Focuswright', version: softwareVersion } },
    transform: jsonSchemaTransform,
  });
  await server.register(fastifyWebsocket, { options: { maxPayload: 10_000 } });
  await server.register(fastifyStatic, { root: packageFile('dist/web') });
  await server.register(fastifyStatic, { root: resolve(runsFolder), prefix: '/handovers/', decorateReply: false });
  const runs = openRunBook(runsFolder);
  server.addHook('preClose', () => runs.close());
  const live = liveHolder();
  await server.register(async (scope) => addFocusRoutes(scope, live));
  await server.register(async (scope) => addCameraRoutes(scope, live));
  await server.register(async (scope) => addFrameRoutes(scope, { runsFolder }));
  await server.register(async (scope) => addRoutes(scope, { runs, opened, parts: parts ?? (await loadParts()) }));
  server.get('/api/openapi.json', { schema: { hide: true } }, async () => server.swagger());
  return server;
}
