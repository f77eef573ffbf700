import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { keptFrameFile, keptFramesOf, listKeptFolders, softwareVersion } from '../app/index.js';
import { apiError, keptFoldersAnswer, keptFrame } from '../protocol/index.js';

/** The stored frames that the page can measure. A file's name may hold any character: it comes as a query. */
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

  api.get(
    '/api/frames/:folder/file',
    {
      schema: {
        params: z.object({ folder: z.string() }),
        querystring: z.object({ name: z.string() }),
      },
    },
    async ({ params: { folder }, query: { name } }, reply) => {
      const bytes = await keptFrameFile(runsFolder, { folder, file: name });
      if (bytes) return reply.type('application/octet-stream').send(bytes);
      return reply.code(404).send({
        code: 'not-found',
        message: `There is no frame ${name} in ${folder}.`,
        remedy: `Choose one of those listed by /api/frames/${folder}.`,
      });
    },
  );
}
