import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { arvTool } from './aravis.js';
import { loopbackAddress } from './served-station.js';

/**
 * The camera that Aravis itself serves: an independent GigE Vision server without a lens. It must be at an address of a
 * network interface, so one is added to the loopback where that is allowed; else it is at 127.0.0.1, one at a time.
 */
export async function serveFakeCamera(
  options: readonly string[] = [],
): Promise<{ address: string; close(): Promise<void> }> {
  const wanted = loopbackAddress();
  const isAdded = spawnSync('ip', ['address', 'add', `${wanted}/8`, 'dev', 'lo']).status === 0;
  const address = isAdded ? wanted : '127.0.0.1';
  const child = spawn('arv-fake-gv-camera-0.8', [
    '-i',
    address,
    '-s',
    `F${Math.floor(Math.random() * 1e6)}`,
    ...options,
  ]);
  const ended = once(child, 'close');
  await answering(address);
  return {
    address,
    async close() {
      child.kill('SIGKILL');
      await ended;
      if (isAdded) spawnSync('ip', ['address', 'del', `${wanted}/8`, 'dev', 'lo']);
    },
  };
}

/** Waits until the camera answers Aravis's own client; a busy machine takes its time to start it. */
async function answering(address: string): Promise<void> {
  const untilMs = performance.now() + 20_000;
  for (;;) {
    const said = await arvTool('-a', address, 'control', 'Width').catch((error: Error) => error.message);
    if (/Width = \d/.test(said)) return;
    if (performance.now() > untilMs) throw new Error(`The fake camera does not answer: ${said}`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}
