import type { GreyImage } from '../grey-image.js';
import { unreadable } from './unreadable.js';

/**
 * Grey values from interleaved channels: grey, grey + alpha, R G B or R G B A. Colour is accepted only if it is none
 * (R = G = B everywhere), alpha only if opaque: a mix would not be linear grey any more.
 */
export function greyFromChannels({
  file,
  widthPx,
  heightPx,
  bitDepth,
  channels,
  samples,
}: {
  file: string;
  widthPx: number;
  heightPx: number;
  bitDepth: 8 | 16;
  channels: number;
  samples: ArrayLike<number>;
}): GreyImage {
  const count = widthPx * heightPx;
  if (samples.length !== count * channels) {
    throw unreadable(file, `${samples.length} samples where ${count * channels} are declared (truncated)`);
  }
  const data = bitDepth === 8 ? new Uint8Array(count) : new Uint16Array(count);
  const colours = channels >= 3 ? 3 : 1;
  const opaque = 2 ** bitDepth - 1;
  for (let i = 0; i < count; i++) {
    const at = i * channels;
    const grey = samples[at]!;
    if (colours === 3 && (samples[at + 1] !== grey || samples[at + 2] !== grey)) {
      const rgb = `${grey}, ${samples[at + 1]}, ${samples[at + 2]}`;
      throw unreadable(file, `a colour image (R, G, B = ${rgb} at pixel ${i % widthPx}, ${Math.floor(i / widthPx)})`);
    }
    if (channels > colours && samples[at + colours] !== opaque) {
      throw unreadable(file, `transparency (alpha ${samples[at + colours]} of ${opaque})`);
    }
    data[i] = grey;
  }
  return { widthPx, heightPx, bitDepth, data };
}
