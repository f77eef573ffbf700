import { FocuswrightError, requireInteger } from '../base/index.js';
import { fixedSettings, wholeFrameSettings } from './camera-settings.js';
import type { FocusCamera } from './contract.js';
import type { Frame } from './frame.js';

/** The calls that every camera must bring itself. */
export type PlainCamera = Omit<FocusCamera, 'setFocalCurrent' | 'configure' | 'stream'>;

/**
 * Fills up a camera that is driven by focal power alone, with fixed settings, one frame at a time.
 *
 * Model    streaming is grabbing in turn, a lost frame left out; settings can be asked for as they are; a current is refused.
 */
export function completeCamera(plain: PlainCamera): FocusCamera {
  return {
    ...plain,
    async setFocalCurrent() {
      throw new FocuswrightError('feature-missing', { camera: plain.id, feature: 'lens current' });
    },
    async configure(wanted) {
      return fixedSettings(wanted, wholeFrameSettings(await plain.capabilities()), { camera: plain.id });
    },
    stream: (options) => grabbedInTurn(plain, options),
  };
}

async function* grabbedInTurn(
  camera: Pick<FocusCamera, 'grab'>,
  { count, signal }: NonNullable<Parameters<FocusCamera['stream']>[0]> = {},
): AsyncGenerator<Frame> {
  if (count !== undefined) requireInteger('count', count, { min: 0 });
  for (let given = 0; given !== count && !signal?.aborted; ) {
    const frame = await camera.grab().catch((error: unknown) => {
      if (error instanceof FocuswrightError && error.code === 'frame-lost') return null;
      throw error;
    });
    if (frame === null) continue;
    yield frame;
    given++;
  }
}
