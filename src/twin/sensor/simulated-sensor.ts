import type { Random } from '../../base/index.js';
import type { GreyImage } from '../../image/index.js';
import type { FrameKernel } from '../render/frame-kernel.js';
import { fastExposure } from './exposure.fast.js';
import { greyValue, type SensorModel } from './exposure.js';
import type { FixedPattern } from './fixed-pattern.js';
import { noiseDraws } from './noise-draws.js';

/** Turns noise-free images into frames. */
export interface SimulatedSensor {
  /** The frame depends on the image, the light and the frame number alone. */
  read(exposure: { image: Float32Array; electronsAtWhiteE: number; frameId: number }): GreyImage;
}

/** A sensor with its fixed pattern and noise; see expose for the model. */
export function simulatedSensor({
  kernel,
  widthPx,
  heightPx,
  strideCount,
  sensor,
  pattern,
  random,
  seed,
}: {
  kernel: FrameKernel;
  widthPx: number;
  heightPx: number;
  strideCount: number;
  sensor: SensorModel;
  pattern: FixedPattern;
  random: Random;
  seed: number;
}): SimulatedSensor {
  const draws = noiseDraws({ seed, strideCount, heightPx });
  const { normals } = draws;
  const expose = fastExposure({ kernel, widthPx, heightPx, strideCount, normals, response: pattern.response, sensor });
  return {
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
