import type { Random } from '../../base/index.js';
import type { GreyImage } from '../../image/index.js';
import type { FieldLight } from '../illumination.js';
import type { FrameKernel } from '../render/frame-kernel.js';
import { fastExposure } from './exposure.fast.js';
import { greyValue, type SensorModel } from './exposure.js';
import type { FixedPattern } from './fixed-pattern.js';
import { noiseDraws } from './noise-draws.js';

/** Turns noise-free images into frames. */
export interface SimulatedSensor {
  /** Takes the light over the field at a focal power for the frames that follow. */
  illuminate(focalPowerDpt: number): void;
  /** The frame depends on the image, the light and the frame number alone. */
  read(exposure: { image: Float32Array; electronsAtWhiteE: number; frameId: number }): GreyImage;
}

/** A change of the corner's light below this is none: a tenth of the photon noise of 10 000 electrons. */
const sameLight = 1e-3;

/** A sensor with its fixed pattern and noise; see expose for the model. */
export function simulatedSensor({
  kernel,
  widthPx,
  heightPx,
  strideCount,
  sensor,
  pattern,
  fieldLight,
  random,
  seed,
}: {
  kernel: FrameKernel;
  widthPx: number;
  heightPx: number;
  strideCount: number;
  sensor: SensorModel;
  pattern: FixedPattern;
  fieldLight: (focalPowerDpt: number) => FieldLight;
  random: Random;
  seed: number;
}): SimulatedSensor {
  const draws = noiseDraws({ seed, strideCount, heightPx });
  const { normals } = draws;
  const { expose, setResponse } = fastExposure({
    kernel,
    widthPx,
    heightPx,
    strideCount,
    normals,
    response: pattern.response,
    sensor,
  });
  let cornerRatio = Number.NaN;
  return {
    illuminate(focalPowerDpt) {
      const light = fieldLight(focalPowerDpt);
      if (Math.abs(light.cornerRatio - cornerRatio) <= sameLight) return;
      cornerRatio = light.cornerRatio;
      setResponse(litResponse(pattern.response, light, { widthPx, heightPx, strideCount }));
    },
    read({ image, electronsAtWhiteE, frameId }) {
      const grey = expose(withDark({ image, electronsAtWhiteE }, pattern), draws.frame(frameId));
      if (pattern.hotPixels.length > 0) {
        const hot = random.fork(`hot-${frameId}`);
        for (const { index, chargeE } of pattern.hotPixels) {
          const seenE = (grey[index]! - sensor.blackLevelDn) / sensor.gainDnPerE;
          grey[index] = greyValue(seenE + chargeE + Math.sqrt(chargeE) * hot.normal(), sensor);
        }
      }
      const data = sensor.bitDepth === 8 ? Uint8Array.from(grey) : grey;
      return { widthPx, heightPx, bitDepth: sensor.bitDepth, data };
    },
  };
}

/** Light at which the charge in the dark is told apart from none at all. */
const leastWhiteE = 1;

/** The image with the charge in the dark as if it were light: so it carries its own noise. */
function withDark(
  { image, electronsAtWhiteE }: { image: Float32Array; electronsAtWhiteE: number },
  { darkE, response }: FixedPattern,
): { image: Float32Array; electronsAtWhiteE: number } {
  if (darkE === null) return { image, electronsAtWhiteE };
  const whiteE = Math.max(leastWhiteE, electronsAtWhiteE);
  const share = electronsAtWhiteE / whiteE;
  const summed = new Float32Array(image.length);
  for (let i = 0; i < summed.length; i++) summed[i] = share * image[i]! + darkE[i]! / (whiteE * response[i]!);
  return { image: summed, electronsAtWhiteE: whiteE };
}

/** Photo response times the light over the field. */
function litResponse(
  response: Float32Array,
  light: FieldLight,
  { widthPx, heightPx, strideCount }: { widthPx: number; heightPx: number; strideCount: number },
): Float32Array {
  const lit = new Float32Array(response.length);
  for (let y = 0; y < heightPx; y++) {
    const yPx = y - (heightPx - 1) / 2;
    for (let x = 0; x < widthPx; x++) {
      const xPx = x - (widthPx - 1) / 2;
      const at = y * strideCount + x;
      lit[at] = response[at]! * light.at(Math.sqrt(xPx * xPx + yPx * yPx));
    }
  }
  return lit;
}
