import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { type Bench, type FocusCamera, wrapCamera } from '../devices/index.js';
import { openGenicamCamera, openRecordedBench, openReplayBench } from '../drivers/index.js';
import { powerLimitsOf, type Station } from '../station/index.js';
import { createSimulatedBench } from '../twin/index.js';
import { type AskForTarget, askedStage } from './asked-stage.js';
import { resumingCamera } from './resuming-camera.js';

/** The camera addresses that can be opened, with their meaning. */
export const cameraAddresses = [
  { form: 'simulated', meaning: 'simulated station, hidden build errors by the seed' },
  { form: 'frames:DIR', meaning: 'folder with frames.csv and PNG or TIFF files' },
  { form: 'replay:DIR', meaning: 'recorded run, call by call: a handover folder' },
  { form: 'genicam:CAMERA', meaning: 'GigE or USB3 Vision: IP address, serial number or id' },
  { form: 'genicam:', meaning: 'the first such camera that is found' },
] as const;

/** What a bench is opened with. */
export interface BenchRequest {
  /** null: no station file; a real camera then has its own limits and the standard's feature names. */
  station: Station | null;
  /** Of the simulated station. */
  seed?: number;
  /** Asks a person to place the target of a real bench; without it placing is refused. */
  ask?: AskForTarget;
  /** Told when the link to a real camera is lost and when it is there again. */
  onLink?: (message: string) => void;
  signal?: CancelSignal;
}

/** How long a lost camera is waited for. */
const patienceMs = 30_000;

/** Opens the bench behind an address. Throws `camera-address-unknown`, or what the driver throws. */
export async function openBench(address: string, request: BenchRequest): Promise<Bench> {
  const { station, seed } = request;
  if (address === 'simulated' && station) return yielding(createSimulatedBench({ station, seed }));
  if (address.startsWith('frames:') && address.length > 'frames:'.length) {
    return yielding(await openRecordedBench(address.slice('frames:'.length)));
  }
  if (address.startsWith('replay:') && address.length > 'replay:'.length) {
    return yielding(await openReplayBench(address.slice('replay:'.length)));
  }
  if (address.startsWith('genicam:')) return openGenicamBench(address.slice('genicam:'.length), request);
  throw new FocuswrightError(
    'camera-address-unknown',
    {
      address,
      allowed: cameraAddresses.map(({ form, meaning }) => `${form} (${meaning})`),
    },
    address === 'simulated' ? { remedy: 'The simulated station needs a station file: name it.' } : {},
  );
}

async function openGenicamBench(
  address: string,
  { station, ask = async () => null, onLink = () => {}, signal }: BenchRequest,
): Promise<Bench> {
  const { camera, stage } = await openGenicamCamera(
    address,
    station
      ? {
          featureMap: station.controls.featureMap,
          limits: {
            ...powerLimitsOf(station),
            currentMinMa: station.controls.currentMinMa,
            currentMaxMa: station.controls.currentMaxMa,
          },
          parkPowerDpt: station.controls.parkPowerDpt,
        }
      : {},
  );
  if (!stage) {
    return { camera: resumingCamera(camera, { patienceMs, onChange: onLink, signal }), stage: askedStage(ask) };
  }
  // A simulated camera that begins anew has forgotten where its target stood.
  let workingDistanceMm: number | null = null;
  const restoreToo = async () => {
    if (workingDistanceMm !== null) await stage.placeTarget({ workingDistanceMm, signal });
  };
  return {
    camera: resumingCamera(camera, { patienceMs, onChange: onLink, restoreToo, signal }),
    stage: {
      distancesMm: null,
      async placeTarget(request) {
        workingDistanceMm = await stage.placeTarget(request);
        return workingDistanceMm;
      },
    },
  };
}

/**
 * Lets the event loop turn before each frame. On a virtual clock nothing waits, so without it Ctrl-C, progress and the
 * other requests of a server would stand still for the whole run.
 */
function yielding({ camera, stage }: Bench): Bench {
  const turningFirst: FocusCamera['grab'] = async (options) => {
    await new Promise((resolve) => setImmediate(resolve));
    return camera.grab(options);
  };
  return { camera: wrapCamera(camera, { grab: turningFirst }), stage };
}
