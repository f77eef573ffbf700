import { cropImage, encodePng, type GreyImage, type Region, shrinkImage } from '../image/index.js';
import { runFocusSearch, stationLensResponse } from '../procedures/index.js';
import type { AutofocusResult, FocusMethodName, FocusPosterior, Station } from '../station/index.js';
import { focusMethodOf } from './focus-method.js';
import { requireFocusRegion } from './focus-region.js';
import { openBench } from './open-bench.js';

/** What the simulated camera is to look at. */
export interface WatchedScene {
  station: Station;
  seed: number;
  workingDistanceMm: number;
}

/** A picture small enough for a page. */
export interface WatchedPicture {
  dataUri: string;
  /** Size of what it shows, in pixels of the camera. */
  widthPx: number;
  heightPx: number;
}

/** A search with what was seen and believed after each frame. */
export interface WatchedSearch {
  result: AutofocusResult;
  frames: { picture: WatchedPicture; posterior: FocusPosterior | null }[];
  powerMinDpt: number;
  powerMaxDpt: number;
}

const framePictureWidthPx = 800;
const regionPictureWidthPx = 192;

/** What the simulated camera sees with its lens parked. Throws what openBench and the stage throw. */
export async function watchScene(scene: WatchedScene): Promise<WatchedPicture> {
  const { camera } = await placed(scene);
  try {
    return pictureOf((await camera.grab()).image, framePictureWidthPx);
  } finally {
    await camera.close();
  }
}

/**
 * Runs a search on the simulated camera and keeps what was seen, for a page to show.
 *
 * Throws   `region-outside-frame`, `region-too-small`, `target-not-placeable`.
 */
export async function watchAutofocus(
  scene: WatchedScene,
  { method, region }: { method: FocusMethodName; region: Region },
): Promise<WatchedSearch> {
  const { camera } = await placed(scene);
  try {
    const { widthPx, heightPx, powerMinDpt, powerMaxDpt } = await camera.capabilities();
    requireFocusRegion(region, { frame: { widthPx, heightPx }, method });
    const frames: WatchedSearch['frames'] = [];
    const result = await runFocusSearch({
      camera,
      method: focusMethodOf(method, { station: scene.station }),
      region,
      response: stationLensResponse(scene.station),
      onProgress: ({ frame, posterior }) => {
        const image = cropImage({ image: frame.image, region });
        frames.push({ picture: pictureOf(image, regionPictureWidthPx), posterior });
      },
    });
    return { result, frames, powerMinDpt, powerMaxDpt };
  } finally {
    await camera.close();
  }
}

async function placed({ station, seed, workingDistanceMm }: WatchedScene) {
  const bench = await openBench('simulated', { station, seed });
  await bench.stage.placeTarget({ workingDistanceMm });
  return bench;
}

function pictureOf(image: GreyImage, mostWidthPx: number): WatchedPicture {
  const factor = Math.max(1, Math.ceil(image.widthPx / mostWidthPx));
  const png = Buffer.from(encodePng(shrinkImage({ image, factor })));
  return {
    dataUri: `data:image/png;base64,${png.toString('base64')}`,
    widthPx: image.widthPx,
    heightPx: image.heightPx,
  };
}
