import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { type CancelSignal, FocuswrightError, throwIfCancelled } from '../base/index.js';
import {
  decodeImage,
  type GreyImage,
  type StackOrder,
  type StackSize,
  stackMemory,
  stackSweep,
} from '../image/index.js';
import { quickInflate } from './quick-png.js';

/** What a thread of a stack is told when it begins. */
export interface StackThreadOrder {
  order: StackOrder;
  size: StackSize;
  buffer: ArrayBufferLike;
  folder: string;
  files: readonly string[];
}

/** One step for a thread: one frame, some windows, or some rows of the picture. */
export type StackStep = { type: 'measure'; index: number } | { type: 'fit' | 'fuse'; from: number; to: number };

/** What a thread tells. */
export type StackTold =
  | { type: 'done' }
  | { type: 'failed'; message: string; error: { code: string; details: object; remedy: string } | null };

/** Does the steps of a stack, one at a time; one of them here, or several in threads. */
export interface StackHand {
  do(step: StackStep): Promise<void>;
  /** Ends its thread. */
  end(): void;
}

/** A hand in the calling thread. */
export function localHand({ order, size, buffer, folder, files }: StackThreadOrder, signal: CancelSignal): StackHand {
  const sweep = stackSweep(order, stackMemory(buffer, size));
  const frame = (index: number) => readFrame(folder, files[index]!, order);
  return {
    async do(step) {
      throwIfCancelled(signal, 'stack');
      if (step.type === 'measure') sweep.measure(step.index, await frame(step.index));
      else if (step.type === 'fit') sweep.fit(step.from, step.to);
      else await sweep.fuse(step, frame);
    },
    end() {},
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
  const image = decodeImage(bytes, file, { inflate: quickInflate });
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
    do: (step) =>
      new Promise((resolve, reject) => {
        const settle = (how: () => void) => {
          clearInterval(poll);
          thread.off('message', hear).off('error', fail).off('exit', gone);
          how();
        };
        const cancelled = () =>
          new FocuswrightError('cancelled', { during: 'stack' }, { remedy: 'Start again when ready.' });
        const poll = setInterval(() => signal.aborted && settle(() => reject(cancelled())), cancelPollMs);
        const fail = (error: unknown) => settle(() => reject(error));
        const gone = () => fail(new Error('a thread of the stack ended before its work was done'));
        const hear = (told: StackTold) =>
          settle(() => {
            if (signal.aborted) reject(cancelled());
            else if (told.type === 'done') resolve();
            else reject(errorOf(told));
          });
        if (signal.aborted) return settle(() => reject(cancelled()));
        thread.on('message', hear).on('error', fail).on('exit', gone);
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
