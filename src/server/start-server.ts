import { existsSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { loadParts, loadStation, makeFolder } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';
import { buildServer } from './build-server.js';

/** A listening server. */
export interface RunningServer {
  url: string;
  /** Cancels what runs (its lens is parked, its handover kept) and stops listening. */
  close(): Promise<void>;
}

/**
 * Starts the server on 127.0.0.1.
 *
 * Throws   what `loadStation` throws, `loadParts` throws, `output-not-writable`, `port-in-use`.
 */
export async function startServer(settings: {
  port: number;
  stationPath: string;
  runsFolder: string;
  /** Parts library; without it the one that ships with the package. */
  partsPath?: string;
}): Promise<RunningServer> {
  const { station, yaml } = await loadStation(settings.stationPath);
  const parts = await loadParts(settings.partsPath);
  const folderWasThere = existsSync(settings.runsFolder);
  const made = await makeFolder(settings.runsFolder).catch((cause: unknown) => {
    throw new FocuswrightError(
      'output-not-writable',
      { folder: settings.runsFolder },
      { cause, remedy: 'Choose another folder with --runs, or give write permission.' },
    );
  });
  const server = await buildServer({ opened: { name: station.station, yaml }, runsFolder: settings.runsFolder, parts });
  try {
    await server.listen({ host: '127.0.0.1', port: settings.port });
  } catch (cause) {
    await server.close();
    // A server that could not listen leaves no folder behind.
    if (!folderWasThere) await rm(made, { recursive: true, force: true });
    if ((cause as NodeJS.ErrnoException).code === 'EADDRINUSE')
      throw new FocuswrightError('port-in-use', { port: settings.port }, { cause });
    throw cause;
  }
  const { port } = server.server.address() as AddressInfo;
  return { url: `http://127.0.0.1:${port}/`, close: () => server.close() };
}
