import type { GreyImage } from '../../image/index.js';
import { aravisCalls } from './calls.js';
import { frameTaker } from './frame-taker.js';
import { openSession } from './session.js';
import { systemClock } from './system-clock.js';

/**
 * A new frame of a camera as it stands, with or without a lens.
 *
 * Model    exposure, gain, region and lens stay as they are: nothing is initialised, moved or parked. The camera is left with the
 *          trigger by software where it has one.
 * Returns  the frame, and the camera's id, which says of a simulated one that it is.
 * Throws   `device-library-missing`, `camera-not-found`, `camera-in-use`, `camera-link-lost`, `frame-lost`.
 */
export async function grabAsItStands(address: string): Promise<{ image: GreyImage; id: string }> {
  const session = await openSession({
    calls: await aravisCalls(),
    address,
    clock: systemClock,
    preparesLens: false,
  });
  const { serialNumber, model } = session.identity;
  const id = `${session.isSimulated ? 'sim:' : ''}genicam:${serialNumber || address || model}`;
  const frames = frameTaker({ ...session, lens: null }, { id, clock: systemClock });
  try {
    const { image } = await frames.grab();
    return { image, id };
  } finally {
    try {
      await frames.close();
    } finally {
      await session.release();
    }
  }
}
