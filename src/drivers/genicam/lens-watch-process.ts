import { setTimeout as wait } from 'node:timers/promises';
import { FocuswrightError } from '../../base/index.js';
import { aravisCalls } from './calls.js';
import { openLens } from './lens.js';
import { dismissal, type WatchOrder } from './lens-watch.js';
import { serialNumberOf, takeControl } from './session.js';
import { systemClock } from './system-clock.js';

// The process that watches over a lens: parks it when the program that opened the camera has gone without a word.

/** How long a camera that does not answer is waited for. */
const triesWithinMs = 20_000;
const betweenTriesMs = 250;
/** A camera keeps its control for a program that has gone until its heartbeat (3 s) has lapsed; after that another has it. */
const ownControlEndsWithinMs = 6000;

let heard = '';
process.stdin.setEncoding('utf8');
for await (const text of process.stdin) heard += text;
const [first, last] = heard.split('\n');
if (first && last !== dismissal) await parkWithinTime(JSON.parse(first));

async function parkWithinTime(order: WatchOrder): Promise<void> {
  const untilMs = performance.now() + triesWithinMs;
  let inUseSinceMs: number | null = null;
  while (performance.now() < untilMs) {
    const met = await tryToPark(order);
    if (met === 'settled') break;
    inUseSinceMs = met === 'in-use' ? (inUseSinceMs ?? performance.now()) : null;
    // Another program answers for the lens.
    if (inUseSinceMs !== null && performance.now() - inUseSinceMs > ownControlEndsWithinMs) break;
    await wait(betweenTriesMs);
  }
  // A call that a lost camera leaves without an answer holds nothing up.
  process.exit();
}

async function tryToPark(order: WatchOrder): Promise<'settled' | 'in-use' | 'no-answer'> {
  const { address, serialNumber, map, limits, parkPowerDpt } = order;
  try {
    const calls = await aravisCalls();
    const controlled = await takeControl(calls, address);
    try {
      const isTheSame = serialNumber === '' || (await serialNumberOf(calls, controlled)) === serialNumber;
      if (!isTheSame) return 'settled';
      const { features } = controlled;
      const lens = await openLens({ features, clock: systemClock, map, limits, parkPowerDpt });
      await lens?.park();
      return 'settled';
    } finally {
      await controlled.release();
    }
  } catch (error) {
    // An error of this program would come again.
    if (!(error instanceof FocuswrightError)) return 'settled';
    return error.code === 'camera-in-use' ? 'in-use' : 'no-answer';
  }
}
