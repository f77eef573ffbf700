import { unreadable } from './unreadable.js';

/**
 * Samples of a PNG's lines that are not interlaced: each line begins with the number of its filter.
 *
 * Input    `lines` inflated, at least heightPx · (1 + widthPx·channels·bitDepth/8) bytes; it is overwritten
 * Returns  widthPx · heightPx · channels samples, 8 or 16 bit
 * Throws   image-unreadable for a filter that does not exist.
 * Source   ISO 15948:2004, 9.2 (filters), 9.4 (Paeth)
 * Checked  property: every filter against fast-png, tests/image/formats.test.ts
 */
export function unfilterPng({
  file,
  lines,
  widthPx,
  heightPx,
  channels,
  bitDepth,
}: {
  file: string;
  lines: Uint8Array;
  widthPx: number;
  heightPx: number;
  channels: number;
  bitDepth: 8 | 16;
}): Uint8Array | Uint16Array {
  const pixelBytes = (channels * bitDepth) / 8;
  const lineBytes = widthPx * pixelBytes;
  const samples = bitDepth === 8 ? new Uint8Array(lineBytes * heightPx) : new Uint16Array((lineBytes * heightPx) / 2);
  let above: Uint8Array = new Uint8Array(lineBytes);
  for (let y = 0; y < heightPx; y++) {
    const start = y * (lineBytes + 1);
    const line = lines.subarray(start + 1, start + 1 + lineBytes);
    unfilterLine(line, above, pixelBytes, lines[start]!, file);
    if (samples instanceof Uint8Array) samples.set(line, y * lineBytes);
    else {
      const first = (y * lineBytes) / 2;
      for (let i = 0; i < lineBytes; i += 2) samples[first + i / 2] = (line[i]! << 8) | line[i + 1]!;
    }
    above = line;
  }
  return samples;
}

function unfilterLine(line: Uint8Array, above: Uint8Array, pixelBytes: number, filter: number, file: string): void {
  const count = line.length;
  if (filter === 0) return;
  if (filter === 1) {
    for (let i = pixelBytes; i < count; i++) line[i] = line[i]! + line[i - pixelBytes]!;
  } else if (filter === 2) {
    for (let i = 0; i < count; i++) line[i] = line[i]! + above[i]!;
  } else if (filter === 3) {
    for (let i = 0; i < Math.min(pixelBytes, count); i++) line[i] = line[i]! + (above[i]! >> 1);
    for (let i = pixelBytes; i < count; i++) line[i] = line[i]! + ((line[i - pixelBytes]! + above[i]!) >> 1);
  } else if (filter === 4) {
    for (let i = 0; i < Math.min(pixelBytes, count); i++) line[i] = line[i]! + above[i]!;
    for (let i = pixelBytes; i < count; i++) {
      const a = line[i - pixelBytes]!;
      const b = above[i]!;
      const c = above[i - pixelBytes]!;
      const toA = Math.abs(b - c);
      const toB = Math.abs(a - c);
      const toC = Math.abs(a + b - 2 * c);
      line[i] = line[i]! + (toA <= toB && toA <= toC ? a : toB <= toC ? b : c);
    }
  } else {
    throw unreadable(file, `a PNG line of filter ${filter} (damaged)`);
  }
}
