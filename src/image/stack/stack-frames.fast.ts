import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { type BandEnergies, bandCount } from './band-energies.js';
import { stackKernel } from './stack-kernel.js';

/** Works through frames of one size with the compiled kernels, in memory that is reserved once. */
export interface StackFrames {
  /** As bandEnergies. */
  bandEnergies(image: GreyImage): BandEnergies;
  /** Makes ready to fuse: the focal power that each pixel is sharp at. Forgets what was added before. */
  beginFusion(powersDpt: Float32Array): void;
  /** Adds a frame to the fused picture; as FrameSum.add. */
  addFrame(frame: { image: GreyImage; focalPowerDpt: number; halfWidthDpt: number; scale: number }): void;
  /** Weighted sums and weights so far, copies. */
  fusionSums(): { sums: Float32Array; weights: Float32Array };
}

/**
 * The compiled twin of bandEnergies and FrameSum.
 *
 * Cost     about 3 ns a pixel for the bands; 20 bytes a pixel of memory, 16 of them only once fusion begins.
 * Throws   RangeError for a frame of another size.
 * Checked  property: equal to the readable versions within single precision, tests/image/stack/
 */
export function stackFrames({
  widthPx,
  heightPx,
  blockPx,
}: {
  widthPx: number;
  heightPx: number;
  blockPx: number;
}): StackFrames {
  const kernel = stackKernel();
  const columns = Math.floor(widthPx / blockPx);
  const rows = Math.floor(heightPx / blockPx);
  const strideOf = (width: number) => Math.ceil(width / 4) * 4 + 8;
  const floatBytes = 4;
  const stride = strideOf(widthPx);
  const grey = kernel.allocate(2 * widthPx * heightPx + lineSlack);
  const sums = kernel.allocate(floatBytes * columns * rows);
  const tops = kernel.allocate(floatBytes * columns * rows);
  const lines = kernel.allocate(floatBytes * 6 * stride);
  const levels = Array.from({ length: bandCount }, (_, band) => {
    const width = (columns * blockPx) >> band;
    const height = (rows * blockPx) >> band;
    const own = band === 0 ? stride : strideOf(width);
    return {
      widthPx: width,
      heightPx: height,
      stride: own,
      // The first band reads the grey values themselves, through four rows.
      image: kernel.allocate(floatBytes * own * (band === 0 ? 4 : height) + lineSlack),
      energy: kernel.allocate(floatBytes * columns * rows),
    };
  });
  let fusion: { image: number; powers: number; sum: number; weights: number } | null = null;

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
  const blocksAt = (address: number, factor: number) => {
    const blocks = new Float32Array(kernel.buffer(), address, columns * rows).slice();
    if (factor !== 1) for (let b = 0; b < blocks.length; b++) blocks[b] = blocks[b]! * factor;
    return blocks;
  };

  return {
    bandEnergies(frame) {
      const wide = takeGrey(frame);
      levels.forEach((level, band) => {
        const half = levels[band + 1];
        kernel.bandLevel(
          level.image,
          level.widthPx,
          level.heightPx,
          level.stride,
          blockPx >> band,
          level.energy,
          half?.image ?? 0,
          half?.stride ?? 0,
          lines,
          band === 0 ? grey : 0,
          wide,
          widthPx,
          sums,
          tops,
        );
      });
      return {
        columns,
        rows,
        blockPx,
        energies: levels.map(({ energy }, band) => blocksAt(energy, 1 / (blockPx >> band) ** 2)),
        meansDn: blocksAt(sums, 1 / blockPx ** 2),
        topsDn: blocksAt(tops, 1),
      };
    },
    beginFusion(powersDpt) {
      const bytes = floatBytes * widthPx * heightPx + lineSlack;
      fusion ??= {
        image: kernel.allocate(floatBytes * stride * heightPx + lineSlack),
        powers: kernel.allocate(bytes),
        sum: kernel.allocate(bytes),
        weights: kernel.allocate(bytes),
      };
      new Float32Array(kernel.buffer(), fusion.powers, widthPx * heightPx).set(powersDpt);
      new Float32Array(kernel.buffer(), fusion.sum, widthPx * heightPx).fill(0);
      new Float32Array(kernel.buffer(), fusion.weights, widthPx * heightPx).fill(0);
    },
    addFrame({ image: frame, focalPowerDpt, halfWidthDpt, scale }) {
      if (!fusion) throw new RangeError('addFrame before beginFusion; allowed: beginFusion first');
      const wide = takeGrey(frame);
      const { image, powers, sum, weights } = fusion;
      kernel.loadFrame(grey, wide, widthPx, heightPx, image, stride);
      kernel.addFrame(image, widthPx, heightPx, stride, powers, focalPowerDpt, halfWidthDpt, scale, sum, weights);
    },
    fusionSums() {
      if (!fusion) throw new RangeError('fusionSums before beginFusion; allowed: beginFusion first');
      return {
        sums: new Float32Array(kernel.buffer(), fusion.sum, widthPx * heightPx).slice(),
        weights: new Float32Array(kernel.buffer(), fusion.weights, widthPx * heightPx).slice(),
      };
    },
  };
}

/** Kernels read and write whole vectors: room behind a last row. */
const lineSlack = 64;
