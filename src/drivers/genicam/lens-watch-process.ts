import { FocuswrightError } from '../../base/index.js';
import { aravisCalls } from './calls.js';
import { openLens } from './lens.js';
import { dismissal, type WatchOrder } from './lens-watch.js';
import { type ParkAttempt, parkWithinTime } from './park-within-time.js';
import { serialNumberOf, takeControl } from './session.js';
import { systemClock } from './system-clock.js';

// The process that watches over a lens: parks it when the program that opened the camera has gone without a word.

let heard = '';
process.stdin.setEncoding('utf8');
for await (const text of process.stdin) heard += text;
const [first, last] = heard.split('\n');
if (first && last !== dismissal) {
  const order: WatchOrder = JSON.parse(first);
  await parkWithinTime({ attempt: () => tryToPark(order), clock: systemClock });
  // A call that a lost camera leaves without an answer holds nothing up.
  process.exit();
}

async function tryToPark(order: WatchOrder): Promise<ParkAttempt> {
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
    if (error instanceof FocuswrightError && error.code === 'camera-in-use') return 'in-use';
    throw error;
  }
}
