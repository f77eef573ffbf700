import { neverCancelled, throwIfCancelled } from '../../base/index.js';
import { type GreyImage, type Region, texturedRegion } from '../../image/index.js';
import type { FocusSearchRequest } from './run-search.js';

/** A region that was chosen by what it shows. */
export interface ChosenRegion {
  region: Region;
  /** Frames taken to choose it, and the powers they were taken at. */
  frames: number;
  focalPowersDpt: number[];
  /** Mean of ln(1 + detail over noise) in it; see texturedRegion. */
  detailRatio: number;
}

/**
 * Chooses the region to focus on: where two frames show most.
 *
 * Model    a frame where the lens stands and one half of its range away, since blur hides texture; then texturedRegion
 * Returns  null where every window is black or saturated. The lens stays at the second power.
 * Throws   what the camera throws.
 */
export async function chooseFocusRegion({
  camera,
  response,
  sizePx,
  signal = neverCancelled,
}: Pick<FocusSearchRequest, 'camera' | 'response' | 'signal'> & {
  sizePx: { widthPx: number; heightPx: number };
}): Promise<ChosenRegion | null> {
  const { powerMinDpt, powerMaxDpt } = await camera.capabilities();
  const { focalPowerDpt: startDpt } = await camera.lensStatus();
  const halfDpt = (powerMaxDpt - powerMinDpt) / 2;
  const otherDpt = startDpt + halfDpt <= powerMaxDpt ? startDpt + halfDpt : startDpt - halfDpt;
  const images: GreyImage[] = [(await camera.grab({ signal })).image];
  throwIfCancelled(signal, 'choosing a region');
  const commandedDpt = await camera.setFocalPower({ focalPowerDpt: Math.max(powerMinDpt, otherDpt) });
  await camera.clock.sleep(response.settlingMs({ fromDpt: startDpt, toDpt: commandedDpt }));
  images.push((await camera.grab({ signal })).image);
  const found = texturedRegion({ images, sizePx });
  return (
    found && {
      region: found.region,
      frames: images.length,
      focalPowersDpt: [startDpt, commandedDpt],
      detailRatio: found.detailRatio,
    }
  );
}
