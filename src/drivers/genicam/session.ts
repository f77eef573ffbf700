import { isIP } from 'node:net';
import { type Clock, FocuswrightError } from '../../base/index.js';
import type { FeatureMap } from '../../station/index.js';
import type { Pointer } from '../aravis/index.js';
import { NativeError } from '../aravis/index.js';
import { type Acquisition, acquisitionOf } from './acquisition.js';
import type { AravisCalls } from './calls.js';
import { type DeviceLink, deviceLink, translate } from './device-link.js';
import { type ExposureTime, exposureTimeOf } from './exposure-time.js';
import { type Features, featuresOf } from './features.js';
import { type FrameStream, startFrameStream } from './frame-stream.js';
import { type CommandLimits, type Lens, openLens } from './lens.js';
import { afterOwnTime } from './own-time.js';

/** How a camera is opened. */
export interface SessionSettings {
  calls: AravisCalls;
  /** Id, serial number or IP address; empty: the first that is found. */
  address: string;
  /** Where it is given, a camera that answers with another serial number is not taken. */
  serialNumber?: string;
  clock: Clock;
  map?: FeatureMap;
  limits?: CommandLimits;
  parkPowerDpt?: number;
  packetBytes?: number;
  /** false: the lens is only looked at, nothing is initialised. */
  preparesLens?: boolean;
}

/** One connection to a camera, from opening to the loss of the link or the end. */
export interface Session {
  calls: AravisCalls;
  link: DeviceLink;
  features: Features;
  exposure: ExposureTime;
  acquisition: Acquisition;
  lens: Lens | null;
  identity: { vendor: string; model: string; serialNumber: string };
  /** false: the camera says of itself that it shows no real scene. */
  isSimulated: boolean;
  packetBytes: number | null;
  /** true while this program controls the camera. Asks nothing over the wire. */
  isController(): boolean;
  startStream(): Promise<FrameStream>;
  /** Asks for one register; resolves to false where none comes within the time. */
  answersWithin(limitMs: number): Promise<boolean>;
  release(): Promise<void>;
}

/** Packets on the machine's own loopback network need no test: no network card is in between. */
const loopbackPacketBytes = 9000;
/** A test of packet sizes sends several packets and waits for each. */
const packetTestMs = 10_000;
/** Discoveries on a busy machine or network may miss an answer. */
const mostDiscoveries = 3;

/** A camera under control, before anything is set. */
export interface ControlledCamera {
  camera: Pointer;
  link: DeviceLink;
  features: Features;
  isGigE: boolean;
  isController(): boolean;
  release(): Promise<void>;
}

/**
 * Takes control of a camera.
 *
 * Throws   `camera-not-found`, `camera-in-use`, `device-library-missing`.
 */
export async function takeControl(calls: AravisCalls, address: string): Promise<ControlledCamera> {
  const camera = await openDevice(calls, address);
  const link = deviceLink(nameOf(address));
  const device = calls.camera.device(camera)!;
  let isReleased = false;
  const release = async () => {
    if (isReleased) return;
    isReleased = true;
    // Behind a call that still waits for an answer: freeing the camera under it would crash.
    await link.ended();
    await calls.unref.later(camera);
  };
  const isGigE = calls.camera.isGigE(camera) === 1;
  const isController = () => !isGigE || calls.camera.isController(device) === 1;
  if (!isController()) {
    await release();
    throw new FocuswrightError('camera-in-use', { camera: nameOf(address) });
  }
  calls.feature.rangeCheck(device, 1);
  calls.feature.accessCheck(device, 1);
  return { camera, link, features: featuresOf(calls, device, link), isGigE, isController, release };
}

/** Serial number of a camera, or ''. */
export const serialNumberOf = (calls: AravisCalls, { link, camera }: ControlledCamera): Promise<string> =>
  link
    .run('DeviceSerialNumber', () => calls.camera.serial.later(camera))
    .then(
      (text) => text ?? '',
      () => '',
    );

/**
 * Opens a camera and makes its lens ready.
 *
 * Throws   `camera-not-found`, `camera-in-use`, `device-library-missing`, `lens-fault`, `feature-missing`.
 */
export async function openSession(settings: SessionSettings): Promise<Session> {
  const { calls, address, clock, map } = settings;
  const controlled = await takeControl(calls, address);
  const { camera, link, features, isGigE, isController, release } = controlled;
  try {
    const packetBytes = isGigE ? await setPacketBytes(calls, camera, link, settings) : null;
    const text = (read: AravisCalls['camera']['vendor'], what: string) =>
      link.run(what, () => read.later(camera)).catch(() => null);
    const identity = {
      vendor: (await text(calls.camera.vendor, 'DeviceVendorName')) ?? 'unknown',
      model: (await text(calls.camera.model, 'DeviceModelName')) ?? 'unknown',
      serialNumber: await serialNumberOf(calls, controlled),
    };
    if (settings.serialNumber && identity.serialNumber !== settings.serialNumber) {
      const { serialNumber: camera } = settings;
      throw new FocuswrightError('camera-not-found', { camera, answeringInstead: identity.serialNumber });
    }
    const acquisition = await acquisitionOf(features, address);
    const exposure = await exposureTimeOf(features, address);
    const { limits, parkPowerDpt, preparesLens: prepares } = settings;
    const lens = await openLens({ features, clock, map, limits, parkPowerDpt, prepares });
    return {
      calls,
      link,
      features,
      exposure,
      acquisition,
      lens,
      identity,
      isSimulated: /^simulated\b/i.test(identity.model) || (identity.vendor === 'Aravis' && identity.model === 'Fake'),
      packetBytes,
      isController,
      startStream: () => startFrameStream(calls, camera, link),
      async answersWithin(limitMs) {
        const asked = link
          .run('PayloadSize', () => calls.camera.payload.later(camera))
          .then(
            () => true,
            () => false,
          );
        let callOff = () => {};
        const isLate = new Promise<boolean>((resolve) => {
          callOff = afterOwnTime(limitMs, () => resolve(false));
        });
        return Promise.race([asked, isLate]).finally(callOff);
      },
      release,
    };
  } catch (error) {
    await release();
    throw error;
  }
}

const nameOf = (address: string) => address || 'the first found';

async function openDevice(calls: AravisCalls, address: string): Promise<Pointer> {
  // By an IP address the camera is asked directly; any other name is looked for among what is reachable.
  const id = isIP(address) === 0 ? await reachableId(calls, address) : address;
  try {
    const camera = await calls.camera.open.later(id);
    if (camera === null) throw new FocuswrightError('camera-not-found', { camera: nameOf(address) });
    return camera;
  } catch (error) {
    if (!(error instanceof NativeError)) throw error;
    throw translate(error, { camera: nameOf(address), feature: 'control' });
  }
}

/** Id of the first reachable camera, or of the one with this serial number, id or hardware address. */
async function reachableId({ list }: AravisCalls, wanted: string): Promise<string> {
  const reachable: string[] = [];
  for (let tries = 1; tries <= mostDiscoveries; tries++) {
    await list.update.later();
    for (let i = 0; i < list.count(); i++) {
      const id = list.id(i) ?? '';
      if (wanted === '' || [id, list.serial(i), list.physicalId(i)].includes(wanted)) return id;
      if (!reachable.includes(id)) reachable.push(id);
    }
  }
  throw new FocuswrightError('camera-not-found', { camera: nameOf(wanted), reachable });
}

async function setPacketBytes(
  calls: AravisCalls,
  camera: Pointer,
  link: DeviceLink,
  { packetBytes, map, address }: SessionSettings,
): Promise<number> {
  const fixed = packetBytes ?? map?.packetBytes ?? (/^127\./.test(address) ? loopbackPacketBytes : undefined);
  if (fixed !== undefined) await link.run('GevSCPSPacketSize', () => calls.camera.setPacketBytes.later(camera, fixed));
  else {
    const test = () => calls.camera.autoPacketBytes.later(camera);
    await link.run('GevSCPSPacketSize', test, { limitMs: packetTestMs }).catch(() => {});
  }
  return link.run('GevSCPSPacketSize', () => calls.camera.packetBytes.later(camera));
}
