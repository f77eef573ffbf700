import { FocuswrightError } from '../../base/index.js';
import { NativeError } from '../aravis/index.js';
import { afterOwnTime } from './own-time.js';

/** The one line of calls to a camera: each begins when the one before has ended. */
export interface DeviceLink {
  /** The camera as a message names it. */
  readonly name: string;
  /** true once the camera has stopped answering; every later call throws `camera-link-lost` at once. */
  readonly isLost: boolean;
  /** true while nothing waits for the camera. */
  readonly isIdle: boolean;
  /**
   * Runs one call in its turn and translates its errors. `feature` names what it is about. A call that takes longer than
   * `limitMs` loses the link: whoever waits is told at once, while the call itself ends behind their back.
   */
  run<T>(feature: string, call: () => Promise<T>, options?: { limitMs?: number }): Promise<T>;
  /** Resolves when no call is under way any more. */
  ended(): Promise<void>;
  lose(): FocuswrightError;
}

/** Numbers of Aravis's device errors. */
const device = { featureNotFound: 1, notConnected: 2, timeout: 5, notFound: 6, notController: 10 };
/** Numbers of its GenICam errors. */
const genicam = { outOfRange: 4, nodeNotFound: 7, entryNotFound: 8 };

/** A call that takes longer means that the camera is gone: registers answer within a few milliseconds. */
const longestCallMs = 800;

/** Opens the line of calls to a camera. */
export function deviceLink(name: string): DeviceLink {
  /** Ends when the last call has really ended, also one that nobody waits for any more. */
  let last: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  let isLost = false;
  const losers = new Set<() => void>();
  const lose = () => {
    isLost = true;
    for (const tell of losers) tell();
    return new FocuswrightError('camera-link-lost', { camera: name });
  };
  async function timed<T>(call: () => Promise<T>, limitMs: number): Promise<T> {
    const callOff = afterOwnTime(limitMs, lose);
    try {
      return await call();
    } finally {
      callOff();
    }
  }
  return {
    name,
    get isLost() {
      return isLost;
    },
    get isIdle() {
      return waiting === 0;
    },
    lose,
    ended: () => last.then(() => {}),
    async run(feature, call, { limitMs = longestCallMs } = {}) {
      if (isLost) throw lose();
      waiting++;
      const turn = last.then(async () => {
        try {
          if (isLost) throw lose();
          return await timed(call, limitMs);
        } catch (error) {
          if (!(error instanceof NativeError)) throw error;
          const translated = translate(error, { camera: name, feature });
          if (translated.code === 'camera-link-lost') lose();
          throw translated;
        } finally {
          waiting--;
        }
      });
      last = turn.catch(() => {});
      let tell = () => {};
      const lost = new Promise<never>((_, reject) => {
        tell = () => reject(new FocuswrightError('camera-link-lost', { camera: name }));
      });
      losers.add(tell);
      try {
        return await Promise.race([turn, lost]);
      } finally {
        losers.delete(tell);
      }
    },
  };
}

/** What an error of the library means for whoever uses the camera. */
export function translate(cause: NativeError, where: { camera: string; feature: string }): FocuswrightError {
  const details = { ...where, said: cause.message };
  if (cause.domain === 'arv-device-error-quark') {
    if (cause.number === device.notFound) return new FocuswrightError('camera-not-found', details, { cause });
    if (cause.number === device.notController) return new FocuswrightError('camera-in-use', details, { cause });
    if (cause.number === device.featureNotFound) return new FocuswrightError('feature-missing', details, { cause });
    if (cause.number === device.notConnected || cause.number === device.timeout) {
      return new FocuswrightError('camera-link-lost', details, { cause });
    }
  }
  if (cause.domain === 'arv-gc-error-quark' && cause.number === genicam.nodeNotFound) {
    return new FocuswrightError('feature-missing', details, { cause });
  }
  if (
    cause.domain === 'arv-gc-error-quark' &&
    (cause.number === genicam.outOfRange || cause.number === genicam.entryNotFound)
  ) {
    return new FocuswrightError('setting-refused', details, { cause });
  }
  return new FocuswrightError('camera-refused', details, { cause });
}
