import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { keptFramesOf, listKeptFolders, softwareVersion } from '../app/index.js';
import { apiError, keptFoldersAnswer, keptFrame } from '../protocol/index.js';

/** The stored frames that the page can measure; their files are handed out below /handovers/. */
export function addFrameRoutes(server: FastifyInstance, { runsFolder }: { runsFolder: string }): void {
  const api = server.withTypeProvider<ZodTypeProvider>();

  api.get('/api/frames', { schema: { response: { 200: keptFoldersAnswer } } }, async () => ({
    softwareVersion,
    folders: await listKeptFolders(runsFolder),
  }));

  api.get(
    '/api/frames/:folder',
    { schema: { params: z.object({ folder: z.string() }), response: { 200: z.array(keptFrame), 404: apiError } } },
    async ({ params }, reply) =>
      (await keptFramesOf(runsFolder, params.folder)) ??
      reply.code(404).send({
        code: 'not-found',
        message: `There is no folder of frames ${params.folder}.`,
        remedy: 'Choose one of those listed by /api/frames.',
      }),
  );
}
