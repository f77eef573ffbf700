import { FocuswrightError } from '../base/index.js';
import { leastSpectrumSidePx, type Region } from '../image/index.js';
import { chooseFocusRegion, type FocusSearchRequest } from '../procedures/index.js';
import type { FocusMethodName } from '../station/index.js';

/** How the region to focus on came about. */
export interface RegionOrigin {
  by: 'given' | 'middle' | 'texture';
  /** Frames taken to choose it. */
  frames: number;
}

/** Smallest region, each way, that a classic search takes; the model needs a spectrum. */
const smallestClassicPx = 32;
const smallestSidePx = (method: FocusMethodName) => (method === 'model' ? leastSpectrumSidePx : smallestClassicPx);
const usualSidePx = 256;

interface FrameSize {
  widthPx: number;
  heightPx: number;
}

const usualSize = ({ widthPx, heightPx }: FrameSize): FrameSize => ({
  widthPx: Math.min(usualSidePx, widthPx),
  heightPx: Math.min(usualSidePx, heightPx),
});

/** The middle of the frame: 256 pixels each way, less in a smaller frame. */
function middleRegion(frame: FrameSize): Region {
  const size = usualSize(frame);
  return {
    xPx: Math.floor((frame.widthPx - size.widthPx) / 2),
    yPx: Math.floor((frame.heightPx - size.heightPx) / 2),
    ...size,
  };
}

/** Throws `region-outside-frame` or `region-too-small`. */
export function requireFocusRegion(
  region: Region,
  { frame, method }: { frame: FrameSize; method: FocusMethodName },
): void {
  const { xPx, yPx, widthPx, heightPx } = region;
  const details = {
    region: `${widthPx} × ${heightPx} px at ${xPx}, ${yPx}`,
    frame: `${frame.widthPx} × ${frame.heightPx} px`,
  };
  if (xPx + widthPx > frame.widthPx || yPx + heightPx > frame.heightPx) {
    throw new FocuswrightError('region-outside-frame', details);
  }
  const least = smallestSidePx(method);
  if (Math.min(widthPx, heightPx) < least) {
    throw new FocuswrightError('region-too-small', { ...details, allowed: `at least ${least} × ${least} px` });
  }
}

/**
 * The regions to focus on: as given, the middle of the frame, or where there is most texture.
 *
 * Returns  the middle too where every window is black or saturated: the search then says so.
 * Throws   `region-outside-frame`, `region-too-small`; what the camera throws.
 */
export async function regionsToFocus({
  wanted,
  method,
  ...on
}: {
  wanted: readonly Region[] | 'middle' | 'texture';
  method: FocusMethodName;
} & Pick<FocusSearchRequest, 'camera' | 'response' | 'signal'>): Promise<{
  regions: readonly Region[];
  origin: RegionOrigin;
}> {
  const frame = await on.camera.capabilities();
  const chosen = wanted === 'texture' ? await chooseFocusRegion({ ...on, sizePx: usualSize(frame) }) : null;
  const regions = typeof wanted !== 'string' ? wanted : [chosen?.region ?? middleRegion(frame)];
  for (const region of regions) requireFocusRegion(region, { frame, method });
  const by = typeof wanted !== 'string' ? 'given' : chosen ? 'texture' : 'middle';
  return { regions, origin: { by, frames: chosen?.frames ?? 0 } };
}
