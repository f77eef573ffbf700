import './without-eval.js';
import { FocuswrightError } from '../base/index.js';
import { decodeImagePage, type GreyImage, imagePageCount } from '../image/index.js';
import { measureFrame } from './measure/measure-frame.js';
import type { MeasureOrder, MeasureOutcome } from './measure/measure-order.js';
import { type Preview, previewOf } from './measure/preview.js';

/** Noise needs two frames: the one that is shown, and another. */
export type FrameSlot = 'first' | 'second';

/** A file that is opened as a frame; page counts from 1. */
export interface FrameFile {
  blob: Blob;
  name: string;
  page: number;
}

/** A frame as it was read. */
export interface OpenedFrame {
  sha256: string;
  page: number;
  pageCount: number;
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  preview: Preview;
}

/** What the page asks of the thread. */
export type ThreadOrder = { id: number } & (
  | { type: 'open'; slot: FrameSlot; file: FrameFile }
  | { type: 'measure'; order: MeasureOrder }
);

/** What the thread answers. */
export type ThreadAnswer = { id: number } & (
  | { type: 'opened'; frame: OpenedFrame }
  | { type: 'measured'; outcome: MeasureOutcome }
  | { type: 'trouble'; message: string; remedy: string }
);

/** Larger files are not read into memory. */
const largestFileBytes = 1_100_000_000;

const frames: Record<FrameSlot, GreyImage | null> = { first: null, second: null };

addEventListener('message', async ({ data }: MessageEvent<ThreadOrder>) => {
  const { id } = data;
  try {
    if (data.type === 'open') {
      const { image, frame } = await open(data.file);
      frames[data.slot] = image;
      postMessage({ id, type: 'opened', frame } satisfies ThreadAnswer, { transfer: [frame.preview.rgba.buffer] });
      return;
    }
    if (!frames.first) throw new RangeError('No frame is open.');
    const outcome = measureFrame(frames.first, frames.second, data.order);
    postMessage({ id, type: 'measured', outcome } satisfies ThreadAnswer);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    const remedy =
      error instanceof FocuswrightError ? error.remedy : 'Choose a region inside the frame, or another frame.';
    postMessage({ id, type: 'trouble', message, remedy } satisfies ThreadAnswer);
  }
});

async function open({ blob, name, page }: FrameFile): Promise<{ image: GreyImage; frame: OpenedFrame }> {
  if (blob.size > largestFileBytes)
    throw new FocuswrightError('image-too-large', {
      file: name,
      bytes: blob.size,
      limit: `${largestFileBytes} bytes`,
    });
  const bytes = new Uint8Array(await blob.arrayBuffer());
  const image = decodeImagePage(bytes, page - 1, name);
  const pageCount = imagePageCount(bytes, name);
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  const sha256 = Array.from(hash, (byte) => byte.toString(16).padStart(2, '0')).join('');
  const { widthPx, heightPx, bitDepth } = image;
  return { image, frame: { sha256, page, pageCount, widthPx, heightPx, bitDepth, preview: previewOf(image) } };
}
