import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { type BandEnergies, bandCount } from './band-energies.js';
import { stackKernel, vectorSlack } from './stack-kernel.js';

/**
 * The compiled twin of bandEnergies for frames of one size, in memory that is reserved once.
 *
 * Cost     about 1 ns a pixel for 8 bit, whose first band is computed in 16-bit whole numbers; 3 ns beyond
 * Throws   RangeError for a frame of another size.
 * Checked  property: equal to the readable version within single precision, tests/image/stack/band-energies.test.ts
 */
export function bandEnergiesFast({
  widthPx,
  heightPx,
  blockPx,
}: {
  widthPx: number;
  heightPx: number;
  blockPx: number;
}): (image: GreyImage) => BandEnergies {
  const kernel = stackKernel();
  const columns = Math.floor(widthPx / blockPx);
  const rows = Math.floor(heightPx / blockPx);
  const strideOf = (width: number) => Math.ceil(width / 4) * 4 + 8;
  const floatBytes = 4;
  const stride = strideOf(widthPx);
  const grey = kernel.allocate(2 * widthPx * heightPx + vectorSlack);
  const means = kernel.allocate(floatBytes * columns * rows);
  const tops = kernel.allocate(floatBytes * columns * rows);
  const lines = kernel.allocate(floatBytes * 6 * stride + 2 * vectorSlack);
  const levels = Array.from({ length: bandCount }, (_, band) => {
    const width = (columns * blockPx) >> band;
    const height = (rows * blockPx) >> band;
    const own = band === 0 ? stride : strideOf(width);
    return {
      widthPx: width,
      heightPx: height,
      stride: own,
      // The first band reads the grey values themselves, through four rows.
      image: kernel.allocate(floatBytes * own * (band === 0 ? 4 : height) + vectorSlack),
      energy: kernel.allocate(floatBytes * columns * rows),
    };
  });

  /** Copies a frame's grey values; true where they are 16-bit. */
  function takeGrey(frame: GreyImage): boolean {
    requireGreyImage('image', frame);
    if (frame.widthPx !== widthPx || frame.heightPx !== heightPx) {
      throw new RangeError(
        `image is ${frame.widthPx} × ${frame.heightPx} px; allowed: ${widthPx} × ${heightPx} px, as the other frames`,
      );
    }
    const wide = frame.data instanceof Uint16Array;
    if (wide) new Uint16Array(kernel.buffer(), grey, widthPx * heightPx).set(frame.data);
    else new Uint8Array(kernel.buffer(), grey, widthPx * heightPx).set(frame.data);
    return wide;
  }
  const blocksAt = (address: number) => new Float32Array(kernel.buffer(), address, columns * rows).slice();

  return (frame) => {
    const wide = takeGrey(frame);
    levels.forEach((level, band) => {
      const { image, energy } = level;
      const half = levels[band + 1];
      const [halfImage, halfStride] = [half?.image ?? 0, half?.stride ?? 0];
      const [width, height, side] = [level.widthPx, level.heightPx, blockPx >> band];
      if (band === 0 && !wide) {
        kernel.firstBand(grey, widthPx, width, height, side, energy, halfImage, halfStride, lines, means, tops);
      } else {
        const from = band === 0 ? grey : 0;
        kernel.bandLevel(
          image,
          width,
          height,
          level.stride,
          side,
          energy,
          halfImage,
          halfStride,
          lines,
          from,
          wide,
          widthPx,
          means,
          tops,
        );
      }
    });
    return {
      columns,
      rows,
      blockPx,
      energies: levels.map(({ energy }) => blocksAt(energy)),
      meansDn: blocksAt(means),
      topsDn: blocksAt(tops),
    };
  };
}
