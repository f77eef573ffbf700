import type { FastifyInstance } from 'fastify';

/**
 * Keeps other pages in the person's browser away from this server: a request must name this machine as its host, and one
 * that carries an origin must come from the application's own page.
 */
export function addGuards(server: FastifyInstance): void {
  server.addHook('onRequest', async (request, reply) => {
    const { host = '', origin } = request.headers;
    const local = /^(127\.0\.0\.1|localhost|\[::1\])(:\d+)?$/.test(host);
    if (local && (origin === undefined || origin === `http://${host}`)) return;
    return reply.code(403).send({
      code: 'request-forbidden',
      message: `The server answers its own page on this machine only (host ${host || 'missing'}, origin ${origin ?? 'none'}).`,
      remedy: 'Open the address that `focuswright serve` printed.',
    });
  });
  server.addHook('onSend', async (_request, reply) => {
    reply.header('X-Content-Type-Options', 'nosniff');
    reply.header(
      'Content-Security-Policy',
      "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; frame-ancestors 'self'",
    );
  });
}
