import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { FeatureMap } from '../../station/index.js';
import type { CommandLimits } from './lens.js';

/** What the watching process needs to park the lens by itself. */
export interface WatchOrder {
  /** Id, serial number or IP address. */
  address: string;
  /** '' where the camera has none. */
  serialNumber: string;
  map?: FeatureMap;
  limits?: CommandLimits;
  parkPowerDpt: number;
}

/** A process that parks the lens when this one ends without having said where the lens stays. */
export interface LensWatch {
  /** The lens stays as it is: nothing is left to do. */
  dismiss(): void;
  /** This process gives the lens up: from now on the watch does what it can. */
  handOver(): void;
}

/** Said to the watch when the lens needs none any more. */
export const dismissal = 'dismissed';

const none: LensWatch = { dismiss() {}, handOver() {} };

/**
 * Starts the watch over the lens of an opened camera.
 *
 * Model    a small process of its own that holds the other end of a pipe. A pipe that ends without a dismissal says that this
 *          process is gone, however it went; see docs/decisions/0010-lens-watch.md
 * Trust    run from the sources, without a build, there is no watch.
 */
export function watchLens(order: WatchOrder): LensWatch {
  if (import.meta.url.endsWith('.ts')) return none;
  const child = spawn(
    process.execPath,
    [fileURLToPath(new URL('./lens-watch-process.js', import.meta.url)), order.address],
    // Apart from the terminal, so that Ctrl-C, or the end of the terminal, does not end the watch with the watched.
    { stdio: ['pipe', 'ignore', 'ignore'], detached: true, windowsHide: true },
  );
  const untold = (error: Error) => {
    process.emitWarning(`Nothing parks the lens if this program is killed: ${error.message}`);
  };
  child.once('error', untold);
  const pipe = child.stdin;
  pipe.on('error', () => {});
  pipe.write(`${JSON.stringify(order)}\n`);
  child.unref();
  // A pipe to a process is a socket to Node: it alone must not keep this program from ending.
  (pipe as unknown as { unref(): void }).unref();
  return {
    dismiss: () => void pipe.end(`${dismissal}\n`),
    handOver: () => void pipe.end(),
  };
}
