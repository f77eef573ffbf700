import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
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
  await new Promise((resolve) => setTimeout(resolve, 300));
  return {
    address,
    async close() {
      child.kill('SIGKILL');
      await ended;
      if (isAdded) spawnSync('ip', ['address', 'del', `${wanted}/8`, 'dev', 'lo']);
    },
  };
}
