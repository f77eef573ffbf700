import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { listCameras, parseStationText } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';
import {
  apiError,
  camerasAnswer,
  frameFactsHeader,
  type LiveTrouble,
  liveCommand,
  liveCommanded,
  openCameraRequest,
  openedCamera,
} from '../protocol/index.js';
import type { LiveHolder } from './live-holder.js';

/** No faster than an eye can follow; a simulated camera would else take all of the processor. */
const betweenPicturesMs = 60;
const widestPx = 1280;

/** How the page asks for the next picture: the width it has room for, and a region of the frame. */
const wish = z.strictObject({
  widthPx: z.int().min(16).max(widestPx),
  region: z
    .strictObject({
      xPx: z.int().min(0),
      yPx: z.int().min(0),
      widthPx: z.int().min(1),
      heightPx: z.int().min(1),
    })
    .optional(),
});

/** The camera that the page looks through: one at a time, parked and closed with the server. */
export function addCameraRoutes(server: FastifyInstance, holder: LiveHolder): void {
  const api = server.withTypeProvider<ZodTypeProvider>();
  const none = { code: 'camera-closed', message: 'No camera is open.', remedy: 'Choose one and connect.' };
  server.addHook('preClose', holder.close);

  api.get('/api/cameras', { schema: { response: { 200: camerasAnswer } } }, async () => {
    const simulated = { address: 'simulated', title: 'The simulated station in this page' };
    try {
      // What shows a real scene comes first.
      const found = (await listCameras()).sort((a, b) => Number(isSimulated(a)) - Number(isSimulated(b)));
      const cameras = found.map(({ address, vendor, model, serialNumber }) => ({
        address,
        title: `${vendor} ${model}${serialNumber ? `, serial number ${serialNumber}` : ''}`,
      }));
      return { cameras: [...cameras, simulated], trouble: null };
    } catch (error) {
      if (!(error instanceof FocuswrightError)) throw error;
      return { cameras: [simulated], trouble: `${error.message.split('\n')[0]} ${error.remedy}` };
    }
  });

  api.get(
    '/api/camera',
    { schema: { response: { 200: openedCamera.nullable() } } },
    async () => holder.camera()?.opened ?? null,
  );

  api.post(
    '/api/camera',
    { schema: { body: openCameraRequest, response: { 201: openedCamera } } },
    async ({ body }, reply) => {
      const { station } = parseStationText(body.yaml, 'the station in the page');
      const live = await holder.open(body.address, station);
      return reply.code(201).send(live.opened);
    },
  );

  api.delete('/api/camera', { schema: { response: { 200: z.null() } } }, async () => {
    holder.requireFree();
    await holder.close();
    return null;
  });

  api.post(
    '/api/camera/command',
    { schema: { body: liveCommand, response: { 200: liveCommanded, 409: apiError } } },
    async ({ body }, reply) => {
      holder.requireFree();
      return holder.camera()?.command(body) ?? reply.code(409).send(none);
    },
  );

  // A whole frame with all its bits, to be measured in the page.
  api.get('/api/camera/frame', { schema: { hide: true } }, async (_request, reply) => {
    const live = holder.camera();
    if (!live) return reply.code(409).send(none);
    const { facts, tiff } = await live.takeWhole();
    return reply
      .header(frameFactsHeader, encodeURIComponent(JSON.stringify(facts)))
      .header('Cache-Control', 'no-store')
      .type('image/tiff')
      .send(Buffer.from(tiff.buffer, tiff.byteOffset, tiff.byteLength));
  });

  // The page asks for each picture, and gets the next that is taken: none ever waits in a queue.
  api.get('/api/camera/live', { websocket: true }, (socket) => {
    let isLooking = false;
    socket.on('message', async (data: Buffer) => {
      const wanted = wish.safeParse(readJson(data));
      if (!wanted.success || isLooking) return;
      isLooking = true;
      try {
        await new Promise((resolve) => setTimeout(resolve, betweenPicturesMs));
        const live = holder.camera();
        if (!live) return socket.close(4404, 'no camera is open');
        const { about, png } = await live.look(wanted.data);
        socket.send(JSON.stringify(about));
        socket.send(png);
      } catch (error) {
        socket.send(JSON.stringify(troubleOf(error)));
      } finally {
        isLooking = false;
      }
    });
  });
}

const isSimulated = ({ model }: { model: string }) => /^simulated\b/i.test(model);

function readJson(data: Buffer): unknown {
  try {
    return JSON.parse(data.toString());
  } catch {
    return null;
  }
}

const troubleOf = (error: unknown): LiveTrouble => ({
  message: error instanceof Error ? error.message : String(error),
  remedy: error instanceof FocuswrightError ? error.remedy : 'Choose a region inside the frame, or connect again.',
});
