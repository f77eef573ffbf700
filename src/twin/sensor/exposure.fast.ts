import type { FrameKernel } from '../render/frame-kernel.js';
import { type Exposure, type SensorModel, smallMeanE } from './exposure.js';
import type { NoiseDraws } from './noise-draws.js';

/** A sensor that is exposed by a kernel. */
export interface FastExposure {
  expose(exposure: Pick<Exposure, 'image' | 'electronsAtWhiteE'>, draws: NoiseDraws): Uint16Array;
  /** Other light over the field: `strideCount` values a row, as at the start. */
  setResponse(response: Float32Array): void;
}

/**
 * As `expose`, by a kernel. The image is taken where it lies if that is the kernel's memory.
 *
 * Trust    32-bit: a grey value may differ by 1 DN from the readable version where a charge falls on a rounding limit.
 * Checked  property: equals expose, tests/twin/sensor/exposure.test.ts
 */
export function fastExposure({
  kernel,
  widthPx,
  heightPx,
  strideCount,
  normals,
  response,
  sensor,
}: {
  kernel: FrameKernel;
  widthPx: number;
  heightPx: number;
  strideCount: number;
  normals: Float32Array;
  response: Float32Array;
  sensor: SensorModel;
}): FastExposure {
  const jobAt = kernel.allocate(64);
  const responseAt = kernel.allocate(4 * response.length);
  const normalsAt = kernel.allocate(4 * normals.length);
  const offsetsAt = kernel.allocate(4 * heightPx);
  const greyAt = kernel.allocate(2 * widthPx * heightPx + 8);
  const imageAt = kernel.allocate(4 * strideCount * heightPx);
  new Float32Array(kernel.buffer(), responseAt, response.length).set(response);
  new Float32Array(kernel.buffer(), normalsAt, normals.length).set(normals);
  const expose: FastExposure['expose'] = ({ image, electronsAtWhiteE }, draws) => {
    const buffer = kernel.buffer();
    const inPlace = image.buffer === buffer;
    if (!inPlace) new Float32Array(buffer, imageAt, image.length).set(image);
    new Uint32Array(buffer, offsetsAt, heightPx).set(draws.rowOffsets);
    new Uint32Array(buffer, jobAt, 8).set([
      inPlace ? image.byteOffset : imageAt,
      responseAt,
      greyAt,
      heightPx,
      widthPx,
      strideCount,
      normalsAt,
      offsetsAt,
    ]);
    const { readNoiseE, gainDnPerE, blackLevelDn, fullWellE, bitDepth } = sensor;
    new Float32Array(buffer, jobAt + 32, 7).set([
      electronsAtWhiteE,
      readNoiseE,
      gainDnPerE,
      blackLevelDn,
      fullWellE,
      2 ** bitDepth - 1,
      smallMeanE,
    ]);
    new Uint32Array(buffer, jobAt + 60, 1)[0] = draws.poissonSeed;
    kernel.expose(jobAt);
    return new Uint16Array(buffer, greyAt, widthPx * heightPx).slice();
  };
  const setResponse = (changed: Float32Array) =>
    new Float32Array(kernel.buffer(), responseAt, changed.length).set(changed);
  return { expose, setResponse };
}
