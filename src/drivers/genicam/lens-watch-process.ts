import { setTimeout as wait } from 'node:timers/promises';
import { FocuswrightError } from '../../base/index.js';
import { aravisCalls } from './calls.js';
import { openLens } from './lens.js';
import { dismissal, type WatchOrder } from './lens-watch.js';
import { serialNumberOf, takeControl } from './session.js';
import { systemClock } from './system-clock.js';

// The process that watches over a lens: parks it when the program that opened the camera has gone without a word.

/** A camera keeps its control for a program that has gone, until its heartbeat (3 s) has lapsed. */
const triesWithinMs = 20_000;
const betweenTriesMs = 250;

let heard = '';
process.stdin.setEncoding('utf8');
for await (const text of process.stdin) heard += text;
const [first, last] = heard.split('\n');
if (first && last !== dismissal) await parkWithinTime(JSON.parse(first));

async function parkWithinTime(order: WatchOrder): Promise<void> {
  const untilMs = performance.now() + triesWithinMs;
  while (performance.now() < untilMs && !(await isParked(order))) await wait(betweenTriesMs);
  // A call that a lost camera leaves without an answer holds nothing up.
  process.exit();
}

/** false: worth another try. */
async function isParked({ address, serialNumber, map, limits, parkPowerDpt }: WatchOrder): Promise<boolean> {
  try {
    const calls = await aravisCalls();
    const controlled = await takeControl(calls, address);
    try {
      const isTheSame = serialNumber === '' || (await serialNumberOf(calls, controlled)) === serialNumber;
      if (!isTheSame) return true;
      const { features } = controlled;
      const lens = await openLens({ features, clock: systemClock, map, limits, parkPowerDpt });
      await lens?.park();
      return true;
    } finally {
      await controlled.release();
    }
  } catch (error) {
    // An error of this program comes again; of a camera that has control elsewhere or does not answer it may not.
    return !(error instanceof FocuswrightError);
  }
}
