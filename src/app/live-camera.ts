import { FocuswrightError } from '../base/index.js';
import { type Bench, type FocusCamera, type Frame, guardLens, wrapCamera } from '../devices/index.js';
import { cropImage, encodeTiff, measureFocus, type Region, regionStatistics, shrinkImage } from '../image/index.js';
import { stationLensResponse } from '../procedures/index.js';
import type { LiveCommand, LiveCommanded, LiveFrame, LiveFrameFacts, OpenedCamera } from '../protocol/index.js';
import { powerLimitsOf, type Station } from '../station/index.js';
import type { FocusBench } from './focus-bench.js';
import { openBench } from './open-bench.js';
import { quickPng } from './quick-png.js';

/** A camera that somebody looks through, its lens guarded by the station's limits. */
export interface LiveCamera {
  readonly opened: OpenedCamera;
  /** Changes power and exposure; returns what was really commanded. */
  command(wanted: LiveCommand): Promise<LiveCommanded>;
  /** The next frame as a picture, no wider than `widthPx`, of a region or the whole. Never one that waited. */
  look(wanted: { widthPx: number; region?: Region }): Promise<{ about: LiveFrame; png: Uint8Array }>;
  /** A new whole frame as TIFF with all its bits. */
  takeWhole(): Promise<{ facts: LiveFrameFacts; tiff: Uint8Array }>;
  /** For searches on it: inside the same limits, with the station's response. */
  readonly focusBench: FocusBench;
  close(): Promise<void>;
}

const measureName = 'tenengrad';
/** While nobody looks, the temperature of the lens is still watched, this often. */
const watchEveryMs = 2000;

/** Opens a camera to look through. Throws what opening throws. */
export async function openLiveCamera(address: string, station: Station): Promise<LiveCamera> {
  const bench = await openBench(address, { station });
  try {
    return await liveCamera(address, bench, station);
  } catch (error) {
    await bench.camera.close();
    throw error;
  }
}

async function liveCamera(address: string, { camera: bare, stage }: Bench, station: Station): Promise<LiveCamera> {
  const { slewLimitDptPerS, currentMinMa, currentMaxMa } = station.controls;
  const { temperatureMaxDegC } = station.parts.tunableLens;
  const limits = { ...powerLimitsOf(station), slewLimitDptPerS, currentMinMa, currentMaxMa, temperatureMaxDegC };
  const camera = await guardLens(bare, limits).catch((error: unknown) => {
    if (!(error instanceof RangeError)) throw error;
    throw new FocuswrightError('lens-power-out-of-range', { camera: bare.id, said: error.message });
  });
  let isLooked = false;
  // Two pages may look through one camera: frames are taken one after the other.
  let lastGrab: Promise<unknown> = Promise.resolve();
  const grabInTurn: FocusCamera['grab'] = (options): Promise<Frame> => {
    isLooked = true;
    const frame = lastGrab.then(() => camera.grab(options));
    lastGrab = frame.catch(() => {});
    return frame;
  };
  const who = await camera.identify();
  const can = await camera.capabilities();
  const watch = setInterval(() => {
    // The guard parks a lens that is too hot; a lost link shows itself when somebody looks.
    if (!isLooked && can.hasLens) void camera.lensStatus().catch(() => {});
    isLooked = false;
  }, watchEveryMs);
  watch.unref();
  return {
    opened: {
      address,
      id: camera.id,
      simulated: camera.simulated,
      model: who.model,
      lensModel: who.lensModel,
      serialNumber: who.serialNumber ?? null,
      widthPx: can.widthPx,
      heightPx: can.heightPx,
      hasLens: can.hasLens,
      powerMinDpt: can.powerMinDpt,
      powerMaxDpt: can.powerMaxDpt,
      exposureMinMs: can.exposureMinMs,
      exposureMaxMs: can.exposureMaxMs,
      temperatureMaxDegC,
    },
    async command({ focalPowerDpt, exposureMs }) {
      return {
        focalPowerDpt: focalPowerDpt === undefined ? null : await camera.setFocalPower({ focalPowerDpt }),
        exposureMs: exposureMs === undefined ? null : await camera.setExposure({ exposureMs }),
      };
    },
    async look({ widthPx, region }) {
      const frame = await grabInTurn();
      const shown = region ? cropImage({ image: frame.image, region }) : frame.image;
      const { image } = frame;
      const middle = {
        xPx: Math.floor(image.widthPx / 4),
        yPx: Math.floor(image.heightPx / 4),
        widthPx: Math.ceil(image.widthPx / 2),
        heightPx: Math.ceil(image.heightPx / 2),
      };
      const picture = shrinkImage({ image: shown, factor: Math.max(1, Math.ceil(shown.widthPx / widthPx)) });
      return {
        about: {
          frameId: frame.frameId,
          focalPowerDpt: frame.focalPowerDpt,
          temperatureDegC: frame.temperatureDegC,
          exposureMs: frame.exposureMs,
          measureName,
          measure: measureFocus({ image, region: middle, measure: measureName }),
          saturatedRatio: regionStatistics({ image, region: middle }).saturatedFraction,
          widthPx: picture.widthPx,
          heightPx: picture.heightPx,
        },
        png: quickPng(picture),
      };
    },
    async takeWhole() {
      const { frameId, focalPowerDpt, exposureMs, source, image } = await grabInTurn();
      const facts = { frameId, focalPowerDpt, exposureMs, simulated: camera.simulated, source };
      const description = `${camera.simulated ? 'SIMULATED; ' : ''}source ${source}; focalPowerDpt ${focalPowerDpt}; exposureMs ${exposureMs ?? 'unknown'}`;
      return { facts, tiff: encodeTiff(image, { description }) };
    },
    focusBench: {
      device: camera,
      camera: wrapCamera(camera, { grab: grabInTurn }),
      stage,
      response: stationLensResponse(station),
      world: station,
      seed: null,
    },
    async close() {
      clearInterval(watch);
      await camera.close();
    },
  };
}
