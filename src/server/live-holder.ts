import { type LiveCamera, openLiveCamera } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';
import type { Station } from '../station/index.js';

/** The camera that the page looks through: one at a time. */
export interface LiveHolder {
  camera(): LiveCamera | null;
  open(address: string, station: Station): Promise<LiveCamera>;
  close(): Promise<void>;
  /** The camera for a search, which nobody else may command meanwhile. Throws `camera-closed`, `run-in-progress`. */
  borrow(): { camera: LiveCamera; release(): void };
  /** Throws `run-in-progress` while a search has it. */
  requireFree(): void;
}

/** Holds no camera at first. */
export function liveHolder(): LiveHolder {
  let live: LiveCamera | null = null;
  let isBorrowed = false;
  const close = async () => {
    const closing = live;
    live = null;
    await closing?.close();
  };
  const requireFree = () => {
    if (isBorrowed) throw new FocuswrightError('run-in-progress', { running: 'a search for focus on this camera' });
  };
  return {
    camera: () => live,
    async open(address, station) {
      requireFree();
      await close();
      live = await openLiveCamera(address, station);
      return live;
    },
    close,
    requireFree,
    borrow() {
      if (!live) throw new FocuswrightError('camera-closed', { wanted: 'the live camera' });
      requireFree();
      isBorrowed = true;
      return {
        camera: live,
        release() {
          isBorrowed = false;
        },
      };
    },
  };
}
