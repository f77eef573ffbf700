import { encode } from 'fast-png';
import { type GreyImage, requireGreyImage } from './grey-image.js';
import { greyRange } from './grey-range.js';
import type { PictureMark } from './picture-mark.js';

/** Least and largest width of a picture to look at. */
const pictureWidth = { leastPx: 720, mostPx: 1600 };

const colours = { read: [0, 114, 178], short: [213, 94, 0], rim: [251, 250, 246] } as const;

/** Digits, slash, point and minus, five rows of three. */
const glyphs: Record<string, string> = {
  '0': '111101101101111',
  '1': '010110010010111',
  '2': '111001111100111',
  '3': '111001111001111',
  '4': '101101111001001',
  '5': '111100111001111',
  '6': '111100111101111',
  '7': '111001001001001',
  '8': '111101111101111',
  '9': '111101111001111',
  '/': '001001010100100',
  '.': '000000000000010',
  '-': '000000111000000',
};

/**
 * A frame with outlines and labels as a colour PNG.
 *
 * Model    small frames are enlarged by a whole factor (each pixel a square), large ones shrunk by one, so that the picture is 720 … 1600 px wide;
 *          grey values stretched between the darkest and brightest half per cent
 * Trust    to look at, not to measure.
 */
export function drawMarks({ image, marks }: { image: GreyImage; marks: readonly PictureMark[] }): Uint8Array {
  requireGreyImage('image', image);
  const enlarge = Math.min(12, Math.max(1, Math.ceil(pictureWidth.leastPx / image.widthPx)));
  const shrink = enlarge > 1 ? 1 : Math.max(1, Math.ceil(image.widthPx / pictureWidth.mostPx));
  const width = Math.floor((image.widthPx * enlarge) / shrink);
  const height = Math.max(1, Math.floor((image.heightPx * enlarge) / shrink));
  const rgb = new Uint8Array(width * height * 3);
  const { lowDn: low, highDn: high } = greyRange(image);
  for (let y = 0; y < height; y++) {
    const row = Math.min(image.heightPx - 1, Math.floor((y * shrink) / enlarge)) * image.widthPx;
    for (let x = 0; x < width; x++) {
      const value = image.data[row + Math.min(image.widthPx - 1, Math.floor((x * shrink) / enlarge))]!;
      rgb.fill(
        Math.max(0, Math.min(255, ((value - low) / (high - low)) * 255)),
        (y * width + x) * 3,
        (y * width + x) * 3 + 3,
      );
    }
  }
  const dot = (x: number, y: number, colour: readonly [number, number, number]) => {
    if (x < 0 || y < 0 || x >= width || y >= height) return;
    rgb.set(colour, (Math.round(y) * width + Math.round(x)) * 3);
  };
  const place = ({ xPx, yPx }: { xPx: number; yPx: number }) => ({
    x: Math.round(((xPx + 0.5) * enlarge) / shrink - 0.5),
    y: Math.round(((yPx + 0.5) * enlarge) / shrink - 0.5),
  });
  for (const { corners, label, look } of marks) {
    const points = corners.map(place);
    // The rim of paper first, over all sides, then the line on it.
    for (const [colour, reach] of [
      [colours.rim, 1],
      [colours[look], 0],
    ] as const) {
      points.forEach((a, i) => {
        const b = points[(i + 1) % points.length]!;
        const steps = Math.max(1, Math.abs(b.x - a.x), Math.abs(b.y - a.y));
        for (let k = 0; k <= steps; k++) {
          const x = Math.round(a.x + ((b.x - a.x) * k) / steps);
          const y = Math.round(a.y + ((b.y - a.y) * k) / steps);
          for (let dy = -reach; dy <= reach; dy++) for (let dx = -reach; dx <= reach; dx++) dot(x + dx, y + dy, colour);
        }
      });
    }
    if (label) writeLabel(label, points, look, width, dot);
  }
  return encode({ width, height, depth: 8, channels: 3, data: rgb });
}

function writeLabel(
  label: string,
  points: readonly { x: number; y: number }[],
  look: PictureMark['look'],
  width: number,
  dot: (x: number, y: number, colour: readonly [number, number, number]) => void,
): void {
  const size = 2;
  const long = label.length * 4 * size;
  const left = Math.min(width - long - 2, Math.max(1, Math.min(...points.map(({ x }) => x))));
  const above = Math.min(...points.map(({ y }) => y)) - 5 * size - 4;
  const top = above > 1 ? above : Math.max(...points.map(({ y }) => y)) + 5;
  for (let y = top - 2; y < top + 5 * size + 2; y++)
    for (let x = left - 2; x < left + long; x++) dot(x, y, colours.rim);
  [...label].forEach((letter, k) => {
    const glyph = glyphs[letter];
    if (!glyph) return;
    for (let i = 0; i < 15; i++) {
      if (glyph[i] !== '1') continue;
      for (let b = 0; b < size; b++) {
        for (let a = 0; a < size; a++) {
          dot(left + (k * 4 + (i % 3)) * size + a, top + Math.floor(i / 3) * size + b, colours[look]);
        }
      }
    }
  });
}
