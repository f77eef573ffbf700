import type { MeasureOrder, MeasureOutcome } from '../measure/measure-order.js';
import type { FrameFile, FrameSlot, OpenedFrame, ThreadAnswer, ThreadOrder } from '../measure-worker.js';
import { ServerError } from './server.js';

/** The thread that reads and measures frames, so that the page stays free. */
export interface MeasureThread {
  /** Throws ServerError with message and remedy, as measure does. */
  open(slot: FrameSlot, file: FrameFile): Promise<OpenedFrame>;
  measure(order: MeasureOrder): Promise<MeasureOutcome>;
  /** Ends what runs at once; its promise never resolves. The frames stay open. */
  cancel(): void;
}

type Waiting = { resolve: (answer: ThreadAnswer) => void; reject: (error: Error) => void };
/** An order before it has its number. */
type Unnumbered = ThreadOrder extends infer Order ? (Order extends ThreadOrder ? Omit<Order, 'id'> : never) : never;

/** A thread that is started when it is first needed, and anew after a cancel. */
export function measureThread(): MeasureThread {
  let worker: Worker | null = null;
  let lastId = 0;
  const waiting = new Map<number, Waiting>();
  const files = new Map<FrameSlot, FrameFile>();

  const start = () => {
    const started = new Worker(new URL('../measure-worker.ts', import.meta.url), { type: 'module' });
    started.onmessage = ({ data }: MessageEvent<ThreadAnswer>) => {
      waiting.get(data.id)?.resolve(data);
      waiting.delete(data.id);
    };
    started.onerror = (event) => {
      for (const { reject } of waiting.values()) reject(stopped(event.message));
      waiting.clear();
      started.terminate();
      worker = null;
    };
    return started;
  };
  const ask = async (order: Unnumbered): Promise<ThreadAnswer> => {
    const id = ++lastId;
    worker ??= start();
    const answer = await new Promise<ThreadAnswer>((resolve, reject) => {
      waiting.set(id, { resolve, reject });
      worker!.postMessage({ id, ...order });
    });
    if (answer.type === 'trouble') throw new ServerError(answer);
    return answer;
  };
  const open = async (slot: FrameSlot, file: FrameFile): Promise<OpenedFrame> => {
    const answer = await ask({ type: 'open', slot, file });
    if (answer.type !== 'opened') throw stopped(answer.type);
    return answer.frame;
  };
  return {
    async open(slot, file) {
      const frame = await open(slot, file);
      files.set(slot, file);
      return frame;
    },
    async measure(order) {
      if (!worker) for (const [slot, file] of files) await open(slot, file);
      const answer = await ask({ type: 'measure', order });
      if (answer.type !== 'measured') throw stopped(answer.type);
      return answer.outcome;
    },
    cancel() {
      worker?.terminate();
      worker = null;
      waiting.clear();
    },
  };
}

const stopped = (met: string) =>
  new ServerError({
    message: `The thread that measures has stopped (${met}).`,
    remedy: 'Try again; choose a smaller frame if it was short of memory.',
  });
