import { type CancelSignal, type Clock, FocuswrightError, requireInteger, throwIfCancelled } from '../../base/index.js';
import type { CameraCapabilities, CameraSettings, FocusCamera, Frame, TargetStage } from '../../devices/index.js';
import type { FeatureMap } from '../../station/index.js';
import { aravisCalls } from './calls.js';
import { frameTaker } from './frame-taker.js';
import type { CommandLimits } from './lens.js';
import { watchLens } from './lens-watch.js';
import { parkAtExit } from './park-at-exit.js';
import { pixelFormats } from './pixel-formats.js';
import { openSession, type Session } from './session.js';
import { simulatedTarget } from './simulated-target.js';
import { systemClock } from './system-clock.js';

/** How a GenICam camera is opened; all of it may be left out. */
export interface GenicamOptions {
  /** What the camera calls the features of its lens; default: the standard's names. */
  featureMap?: FeatureMap;
  /** Limits inside those of the device. */
  limits?: CommandLimits;
  /** Where the lens is left on every way out; the nearest power inside its limits. Default: 0 dpt. */
  parkPowerDpt?: number;
  /** Size of network packets in bytes; default: the largest that a test packet comes through with. */
  packetBytes?: number;
  clock?: Clock;
}

/** Longest wait for a lost camera to come back when its lens is to be parked. */
const parkAgainWithinMs = 3000;

/**
 * A real camera with its lens, by GenICam over GigE Vision or USB3 Vision.
 *
 * Model    one line of calls to the camera; a frame is triggered by software where the camera can, else taken from the running
 *          stream once it must have been exposed after the call. A frame with missing packets never counts. After a loss of the
 *          link each call fails at once with `camera-link-lost`, and the next tries to connect again; the lens is parked then.
 * Input    `address`: IP address, serial number or id; '' for the first that is found.
 * Returns  the camera; with a stage where it is a simulated one that places its own target.
 * Throws   `device-library-missing`, `camera-not-found`, `camera-in-use`, `lens-fault`.
 * Trust    tested on simulated cameras over loopback only; never on hardware.
 */
export async function openGenicamCamera(
  address: string,
  options: GenicamOptions = {},
): Promise<{ camera: FocusCamera; stage: TargetStage | null }> {
  const clock = options.clock ?? systemClock;
  const calls = await aravisCalls();
  const connect = (serialNumber?: string) =>
    openSession({ ...options, map: options.featureMap, calls, address, serialNumber, clock });
  let session = await connect();
  const { identity, isSimulated } = session;
  const id = `${isSimulated ? 'sim:' : ''}genicam:${identity.serialNumber || address || identity.model}`;
  let isClosed = false;
  let known: { of: Session; can: CameraCapabilities } | null = null;
  let frames = frameTaker(session, { id, clock });
  let forgetExit = parkAtExit(session);
  const { featureMap: map, limits, parkPowerDpt = 0 } = options;
  const watch = session.lens
    ? watchLens({
        address: address || identity.serialNumber,
        serialNumber: identity.serialNumber,
        map,
        limits,
        parkPowerDpt,
      })
    : null;

  async function drop(): Promise<void> {
    forgetExit();
    const [lost, lostFrames] = [session, frames];
    // What still waits for an answer of a lost camera ends by itself, behind our back.
    void lostFrames.close().then(() => lost.release());
  }
  async function reconnect(): Promise<void> {
    await drop();
    session = await connect(identity.serialNumber).catch((cause: unknown) => {
      throw new FocuswrightError('camera-link-lost', { camera: id }, { cause });
    });
    frames = frameTaker(session, { id, clock });
    forgetExit = parkAtExit(session);
    await session.lens?.park();
  }
  /** The connection, made anew where it was lost before; each call tries once. */
  async function connected(): Promise<Session> {
    if (isClosed) throw new FocuswrightError('camera-closed', { camera: id });
    if (session.link.isLost) await reconnect();
    else if (!session.isController()) throw session.link.lose();
    return session;
  }
  async function lens(wanted: string) {
    const { lens: found } = await connected();
    if (!found) throw new FocuswrightError('lens-missing', { camera: id, wanted });
    return found;
  }

  /** As the camera is set now; asked over the wire anew only after a setting has changed. */
  async function capabilities(): Promise<CameraCapabilities> {
    const now = await connected();
    if (known?.of !== now) known = { of: now, can: await askCapabilities() };
    return known.can;
  }
  async function askCapabilities(): Promise<CameraCapabilities> {
    const { acquisition, exposure, lens: found, features } = await connected();
    const { region, pixelFormat } = await acquisition.read();
    const rate = await acquisition.frameRateHz();
    const format = [...pixelFormats.values()].find(({ name }) => name === pixelFormat);
    return {
      widthPx: region.widthPx,
      heightPx: region.heightPx,
      bitDepth: format?.bitDepth ?? 8,
      sensorWidthPx: acquisition.sensor.widthPx,
      sensorHeightPx: acquisition.sensor.heightPx,
      regionStepPx: acquisition.regionStepPx,
      pixelFormats: acquisition.pixelFormats,
      exposureMinMs: exposure.minMs,
      exposureMaxMs: exposure.maxMs,
      gainMin: acquisition.gain?.min ?? null,
      gainMax: acquisition.gain?.max ?? null,
      frameRateHz: rate.max ?? rate.now ?? 1000 / Math.max(1, await exposure.read()),
      hasSoftwareTrigger: acquisition.hasSoftwareTrigger,
      hasHardwareTrigger: acquisition.lines.length > 0,
      hasSequencer: await features.has('SequencerMode'),
      hasLens: found !== null,
      powerMinDpt: found?.power?.min ?? 0,
      powerMaxDpt: found?.power?.max ?? 0,
      powersDpt: found?.power ? null : [0],
      controlStepDpt: found?.power?.increment ?? null,
      repeatabilityDpt: null,
      settlingMs: null,
      currentMinMa: found?.current?.min ?? null,
      currentMaxMa: found?.current?.max ?? null,
      hasTemperature: found?.hasTemperature ?? false,
    };
  }

  /** false where the camera could not be reached. */
  async function isParked(): Promise<boolean> {
    try {
      if (session.link.isLost || !session.isController()) {
        session.link.lose();
        return await Promise.race([reconnect().then(() => true), clock.sleep(parkAgainWithinMs).then(() => false)]);
      }
      await session.lens?.park();
      return true;
    } catch {
      // Parking is called on every way out, also where the camera has gone.
      return false;
    }
  }

  const camera: FocusCamera = {
    id,
    simulated: isSimulated,
    clock,
    async identify() {
      const { identity: who, lens: found } = await connected();
      return {
        id,
        model: `${who.vendor} ${who.model}`,
        lensModel: found?.model ?? 'none',
        ...(who.serialNumber ? { serialNumber: who.serialNumber } : {}),
        ...(found?.serialNumber ? { lensSerialNumber: found.serialNumber } : {}),
      };
    },
    capabilities,
    setFocalPower: async ({ focalPowerDpt }) => (await lens(`${focalPowerDpt} dpt`)).setPower(focalPowerDpt),
    async setFocalCurrent({ currentMa }) {
      const found = await lens(`${currentMa} mA`);
      return found.setCurrent(currentMa);
    },
    async setExposure({ exposureMs }) {
      const now = await connected();
      known = null;
      return frames.keepExposure(await now.exposure.write(exposureMs));
    },
    async configure(wanted): Promise<CameraSettings> {
      await connected();
      if (Object.keys(wanted).length > 0) known = null;
      return frames.configure(wanted);
    },
    async lensStatus() {
      const { lens: found } = await connected();
      return found ? found.status() : { focalPowerDpt: 0, currentMa: null, temperatureDegC: null, state: 'no-lens' };
    },
    async grab({ signal } = {}) {
      if (signal) throwIfCancelled(signal, 'grabbing a frame');
      await connected();
      return frames.grab(signal);
    },
    stream: ({ count, signal } = {}) => streamed(count, signal),
    async park() {
      if (!isClosed) await isParked();
    },
    async close({ keepPower = false } = {}) {
      if (isClosed) return;
      if (keepPower || (!session.link.isLost && (await isParked()))) watch?.dismiss();
      else watch?.handOver();
      isClosed = true;
      forgetExit();
      const ended = frames.close().then(() => session.release());
      // A lost camera may keep its last call waiting for seconds; nobody needs to wait with it.
      if (!session.link.isLost) await ended;
    },
  };
  const stage = isSimulated ? await simulatedTarget(async () => (await connected()).features, clock) : null;
  return { camera, stage };

  async function* streamed(count?: number, signal?: CancelSignal): AsyncGenerator<Frame> {
    if (count !== undefined) requireInteger('count', count, { min: 0 });
    await connected();
    yield* frames.stream({ count, signal });
  }
}
