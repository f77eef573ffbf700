import { parentPort, workerData } from 'node:worker_threads';
import { FocuswrightError, neverCancelled } from '../base/index.js';
import { localHand, type StackStep, type StackThreadOrder, type StackTold } from './stack-hand.js';

// One thread of a stack: does the steps that it is told, on memory that all threads share.
const hand = localHand(workerData as StackThreadOrder, neverCancelled);
const tell = (told: StackTold) => parentPort!.postMessage(told);

parentPort!.on('message', async (step: StackStep) => {
  try {
    await hand.do(step);
    tell({ type: 'done' });
  } catch (cause) {
    const error =
      cause instanceof FocuswrightError ? { code: cause.code, details: cause.details, remedy: cause.remedy } : null;
    tell({ type: 'failed', message: cause instanceof Error ? (cause.stack ?? cause.message) : String(cause), error });
  }
});
