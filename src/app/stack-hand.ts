import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { type CancelSignal, FocuswrightError, throwIfCancelled } from '../base/index.js';
import {
  decodeImage,
  type FrameSum,
  type GreyImage,
  type StackOrder,
  stackMemory,
  stackSweep,
} from '../image/index.js';

/** What a thread of a stack is told when it begins. */
export interface StackThreadOrder {
  order: StackOrder;
  size: { frames: number; blocks: number; pixels: number };
  buffer: ArrayBufferLike;
  folder: string;
  files: readonly string[];
  /** Decoded frames that may be kept for the second pass. */
  keepBytes: number;
}

/** One step for a thread. */
export type StackStep =
  | { type: 'measure' | 'fuse'; indices: readonly number[] }
  | { type: 'fit'; from: number; to: number };

/** What a thread tells. */
export type StackTold =
  | { type: 'frame' }
  | { type: 'done'; sums: FrameSum | null }
  | { type: 'failed'; message: string; error: { code: string; details: object; remedy: string } | null };

/** Does the steps of a stack; one of them here, or several in threads. */
export interface StackHand {
  do(step: StackStep, tellFrame: () => void): Promise<FrameSum | null>;
  /** Ends its thread. */
  end(): void;
}

/** A hand in the calling thread. */
export function localHand(
  { order, size, buffer, folder, files, keepBytes }: StackThreadOrder,
  signal: CancelSignal,
): StackHand {
  const sweep = stackSweep(order, stackMemory(buffer, size));
  const kept = new Map<number, GreyImage>();
  let keptBytes = 0;
  async function frame(index: number): Promise<GreyImage> {
    const known = kept.get(index);
    if (known) return known;
    const image = await readFrame(folder, files[index]!, order);
    if (keptBytes + image.data.byteLength <= keepBytes) {
      kept.set(index, image);
      keptBytes += image.data.byteLength;
    }
    return image;
  }
  return {
    async do(step, tellFrame) {
      throwIfCancelled(signal, 'stack');
      if (step.type === 'fit') {
        sweep.fit(step.from, step.to);
        return null;
      }
      for (const index of step.indices) {
        throwIfCancelled(signal, 'stack');
        const image = await frame(index);
        if (step.type === 'measure') sweep.measure(index, image);
        else sweep.fuse(index, image);
        tellFrame();
      }
      return step.type === 'fuse' && step.indices.length > 0 ? sweep.fused() : null;
    },
    end() {
      kept.clear();
    },
  };
}

async function readFrame(
  folder: string,
  file: string,
  { widthPx, heightPx, bitDepth }: StackOrder,
): Promise<GreyImage> {
  const bytes = await readFile(join(folder, file)).catch((cause: unknown) => {
    throw new FocuswrightError('image-unreadable', { file }, { cause });
  });
  const image = decodeImage(bytes, file);
  if (image.widthPx === widthPx && image.heightPx === heightPx && image.bitDepth === bitDepth) return image;
  throw new FocuswrightError(
    'image-unreadable',
    {
      file,
      met: `${image.widthPx} × ${image.heightPx} px of ${image.bitDepth} bit`,
      others: `${widthPx} × ${heightPx} px of ${bitDepth} bit`,
    },
    { remedy: 'Record all frames of a sweep with one region of interest and one pixel format.' },
  );
}

/** How often a set cancel signal is looked for while threads work. */
const cancelPollMs = 50;

/** A hand in a thread of its own. */
export function threadHand(begin: StackThreadOrder, signal: CancelSignal): StackHand {
  const thread = new Worker(new URL('./stack-thread.js', import.meta.url), { workerData: begin });
  return {
    do: (step, tellFrame) =>
      new Promise((resolve, reject) => {
        const settle = (how: () => void) => {
          clearInterval(poll);
          thread.off('message', hear).off('error', fail);
          how();
        };
        const cancelled = () =>
          new FocuswrightError('cancelled', { during: 'stack' }, { remedy: 'Start again when ready.' });
        const poll = setInterval(() => signal.aborted && settle(() => reject(cancelled())), cancelPollMs);
        const fail = (error: unknown) => settle(() => reject(error));
        const hear = (told: StackTold) => {
          if (told.type === 'frame') return tellFrame();
          settle(() => {
            if (signal.aborted) reject(cancelled());
            else if (told.type === 'done') resolve(told.sums);
            else reject(errorOf(told));
          });
        };
        if (signal.aborted) return settle(() => reject(cancelled()));
        thread.on('message', hear).on('error', fail);
        thread.postMessage(step);
      }),
    end() {
      void thread.terminate();
    },
  };
}

function errorOf({ message, error }: Extract<StackTold, { type: 'failed' }>): Error {
  if (error === null) return new Error(message);
  const { code, details, remedy } = error as {
    code: FocuswrightError['code'];
    details: FocuswrightError['details'];
    remedy: string;
  };
  return new FocuswrightError(code, details, { remedy });
}
