import type { Random } from '../../base/index.js';

/** What is different about each pixel, the same in every frame. */
export interface FixedPattern {
  /** Photo response of each pixel relative to the mean, `strideCount` values a row. */
  response: Float32Array;
  /** Charge of each pixel in the dark, beside the black level; null: none. */
  darkE: Float32Array | null;
  /** Pixels with a charge of their own, whatever the light. */
  hotPixels: { index: number; chargeE: number }[];
}

const deadResponse = 0.1;
/** Mean of the dark signal in its standard deviations, so that a charge is hardly ever below 0. */
const darkMeanStds = 3;

/**
 * The fixed pattern of a sensor.
 *
 * Returns  see FixedPattern. Dead pixels respond with a tenth; hot pixels hold 4 to 40 % of the full well.
 */
export function fixedPattern({
  widthPx,
  heightPx,
  strideCount,
  fullWellE,
  nonUniformityRatio,
  darkNonUniformityE,
  deadPixelCount,
  hotPixelCount,
  random,
}: {
  widthPx: number;
  heightPx: number;
  strideCount: number;
  fullWellE: number;
  nonUniformityRatio: number;
  darkNonUniformityE: number;
  deadPixelCount: number;
  hotPixelCount: number;
  random: Random;
}): FixedPattern {
  const response = new Float32Array(strideCount * heightPx);
  const prnu = random.fork('non-uniformity');
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      response[y * strideCount + x] = nonUniformityRatio === 0 ? 1 : 1 + nonUniformityRatio * prnu.normal();
    }
  }
  const places = random.fork('defects');
  const somewhere = () => ({
    x: Math.floor(places.uniform() * widthPx),
    y: Math.floor(places.uniform() * heightPx),
  });
  for (let i = 0; i < deadPixelCount; i++) {
    const { x, y } = somewhere();
    response[y * strideCount + x]! *= deadResponse;
  }
  const hotPixels = Array.from({ length: hotPixelCount }, () => {
    const { x, y } = somewhere();
    return { index: y * widthPx + x, chargeE: fullWellE * (0.04 + 0.36 * places.uniform()) };
  });
  const dark = random.fork('dark-signal');
  const darkE =
    darkNonUniformityE === 0
      ? null
      : Float32Array.from({ length: strideCount * heightPx }, () =>
          Math.max(0, darkNonUniformityE * (darkMeanStds + dark.normal())),
        );
  return { response, darkE, hotPixels };
}
