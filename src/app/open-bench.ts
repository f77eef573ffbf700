import { FocuswrightError } from '../base/index.js';
import { type Bench, type FocusCamera, wrapCamera } from '../devices/index.js';
import { openRecordedBench } from '../drivers/index.js';
import type { Station } from '../station/index.js';
import { createSimulatedBench } from '../twin/index.js';

/** The camera addresses that can be opened, with their meaning. */
export const cameraAddresses = [
  { form: 'simulated', meaning: 'the simulated station, with hidden build errors drawn by the seed' },
  { form: 'frames:DIR', meaning: 'recorded frames: a folder with frames.csv and PNG or TIFF files' },
] as const;

/** Opens the bench behind an address. Throws `camera-address-unknown`, or what the driver throws. */
export async function openBench(
  address: string,
  { station, seed }: { station: Station; seed: number },
): Promise<Bench> {
  if (address === 'simulated') return yielding(createSimulatedBench({ station, seed }));
  if (address.startsWith('frames:') && address.length > 'frames:'.length) {
    return yielding(await openRecordedBench(address.slice('frames:'.length)));
  }
  throw new FocuswrightError('camera-address-unknown', {
    address,
    allowed: cameraAddresses.map(({ form, meaning }) => `${form}: ${meaning}`),
  });
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
