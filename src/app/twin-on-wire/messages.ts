import type { PixelFormat, ResendRequest, StreamTarget, WireFaults } from '../../drivers/index.js';
import type { Station } from '../../station/index.js';
import type { Fault } from '../../twin/index.js';

/** `station`: as the station file says; `plain`: a card without texture. */
export type ServedScene = 'station' | 'plain';

/** What the thread of the simulated station is started with. */
export interface ThreadOrder {
  station: Station;
  seed: number;
  faults: readonly Fault[];
  scene: ServedScene;
  /** How much farther the right half of the field lies. */
  secondPlaneMm: number;
  wireFaults: WireFaults;
  /** After this many frames the whole process is gone, as by a power cut; null: never. */
  killedAfterCount: number | null;
  host: string;
  /** Start of the camera's clock on the machine's own. */
  startNs: bigint;
}

/** How frames are taken; changed while none is being exposed. */
export interface AcquisitionSettings {
  exposureMs: number;
  gainDb: number;
  pixelFormat: PixelFormat;
  xPx: number;
  yPx: number;
  widthPx: number;
  heightPx: number;
  /** null: frames come by trigger. */
  frameRateHz: number | null;
}

/** What the thread is told. Times are the camera's, in milliseconds. */
export type ToThread =
  | { type: 'power'; atMs: number; focalPowerDpt: number }
  | { type: 'settings'; settings: AcquisitionSettings }
  | { type: 'start'; atMs: number; target: StreamTarget; frameCountMax: number }
  | { type: 'stop' }
  | { type: 'trigger'; atMs: number }
  | { type: 'target'; atMs: number; workingDistanceMm: number }
  | { type: 'resend'; request: ResendRequest }
  | { type: 'end' };

/** What the thread tells. */
export type FromThread =
  | { type: 'ready'; settlingMs: number }
  | { type: 'lens'; temperatureDegC: number; isFaulty: boolean }
  | { type: 'target'; isPlaced: boolean }
  | { type: 'stopped' }
  | { type: 'trigger-missed' }
  | { type: 'link-lost' };
