import { FocuswrightError } from '../../base/index.js';
import { NativeError } from '../aravis/index.js';

/** The one line of calls to a camera: each begins when the one before has ended. */
export interface DeviceLink {
  /** The camera as a message names it. */
  readonly name: string;
  /** true once the camera has stopped answering; every later call throws `camera-link-lost` at once. */
  readonly isLost: boolean;
  /** true while nothing waits for the camera. */
  readonly isIdle: boolean;
  /** Runs one call in its turn and translates its errors. `feature` names what it is about. */
  run<T>(feature: string, call: () => Promise<T>): Promise<T>;
  lose(): FocuswrightError;
}

/** Numbers of Aravis's device errors. */
const device = { featureNotFound: 1, notConnected: 2, timeout: 5, notFound: 6, notController: 10 };
/** Numbers of its GenICam errors. */
const genicam = { outOfRange: 4, nodeNotFound: 7, entryNotFound: 8 };

/** Opens the line of calls to a camera. */
export function deviceLink(name: string): DeviceLink {
  let last: Promise<unknown> = Promise.resolve();
  let waiting = 0;
  let isLost = false;
  const lose = () => {
    isLost = true;
    return new FocuswrightError('camera-link-lost', { camera: name });
  };
  return {
    name,
    get isLost() {
      return isLost;
    },
    get isIdle() {
      return waiting === 0;
    },
    lose,
    run(feature, call) {
      waiting++;
      const turn = last.then(async () => {
        if (isLost) throw lose();
        try {
          return await call();
        } catch (error) {
          if (!(error instanceof NativeError)) throw error;
          const translated = translate(error, { camera: name, feature });
          if (translated.code === 'camera-link-lost') isLost = true;
          throw translated;
        } finally {
          waiting--;
        }
      });
      last = turn.catch(() => {});
      return turn;
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
