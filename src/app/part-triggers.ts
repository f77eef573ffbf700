import { createInterface } from 'node:readline';
import type { Readable } from 'node:stream';
import { type CancelSignal, FocuswrightError, seededRandom } from '../base/index.js';
import type { FocusCamera, TargetStage } from '../devices/index.js';
import type { ArrivedPart, FollowPartsRequest } from '../procedures/index.js';

type NextPart = FollowPartsRequest['nextPart'];

/** Reads what stands on a line of a gauge: a working distance in mm, or nothing. Throws RangeError for anything else. */
export function partOfLine(line: string): ArrivedPart {
  const text = line.trim();
  if (text === '') return { workingDistanceMm: null };
  const workingDistanceMm = Number(text);
  if (!(workingDistanceMm > 0 && workingDistanceMm <= 1e6)) {
    throw new RangeError(
      `“${text.slice(0, 40)}” is no working distance; allowed: an empty line, or mm > 0 and ≤ 1000000`,
    );
  }
  return { workingDistanceMm };
}

/**
 * One part for each line of a stream, with the working distance that stands on it.
 *
 * Returns  null at the end of the stream.
 * Throws   `part-line-invalid` for a line that is no distance; `cancelled`.
 */
export function partsByLine(input: Readable, signal: CancelSignal): { nextPart: NextPart; close(): void } {
  const reader = createInterface({ input });
  const lines: string[] = [];
  let ended = false;
  let wake = () => {};
  reader.on('line', (line) => {
    lines.push(line);
    wake();
  });
  reader.on('close', () => {
    ended = true;
    wake();
  });
  return {
    async nextPart(number) {
      while (lines.length === 0 && !ended && !signal.aborted) await wokenOrSoon((woken) => (wake = woken));
      if (signal.aborted) throw new FocuswrightError('cancelled', { during: 'waiting for a part' });
      const line = lines.shift();
      if (line === undefined) return null;
      try {
        return partOfLine(line);
      } catch (error) {
        throw new FocuswrightError('part-line-invalid', { part: number, said: (error as Error).message });
      }
    },
    close: () => reader.close(),
  };
}

const askEveryMs = 100;

/** Resolves when woken, or after a short time, so that a cancel is seen. */
const wokenOrSoon = (onWait: (wake: () => void) => void) =>
  new Promise<void>((resolve) => {
    const timer = setTimeout(resolve, askEveryMs);
    onWait(() => {
      clearTimeout(timer);
      resolve();
    });
  });

/**
 * One part for each frame that an input line of the camera triggers; that frame itself is not searched on. Between parts
 * the camera takes frames by software.
 *
 * Throws   `setting-refused` where the camera has no such line; `cancelled`; what the camera throws.
 */
export function partsByInputLine(
  camera: FocusCamera,
  { line, signal }: { line: string; signal: CancelSignal },
): NextPart {
  return async () => {
    await camera.configure({ trigger: { line } });
    try {
      for (;;) {
        if (signal.aborted) throw new FocuswrightError('cancelled', { during: 'waiting for a part' });
        const isThere = await camera.grab({ signal }).then(
          () => true,
          (error: unknown) => {
            // No part yet: a camera that waits for its line gives up now and then.
            if (error instanceof FocuswrightError && error.code === 'frame-lost') return false;
            throw error;
          },
        );
        if (isThere) return { workingDistanceMm: null };
      }
    } finally {
      await camera.configure({ trigger: (await camera.capabilities()).hasSoftwareTrigger ? 'software' : 'free' });
    }
  };
}

/** Parts that a stage brings: the distances in turn, over and over. */
export function partsOnStage(
  stage: TargetStage,
  { distanceMmOf, isTold, signal }: { distanceMmOf: (number: number) => number; isTold: boolean; signal: CancelSignal },
): NextPart {
  return async (number) => {
    const workingDistanceMm = await stage.placeTarget({ workingDistanceMm: distanceMmOf(number), signal });
    return { workingDistanceMm: isTold ? workingDistanceMm : null };
  };
}

/** Distances anywhere between near and far, even in vergence, drawn by a seed. */
export function drawnDistances({ nearMm, farMm, seed }: { nearMm: number; farMm: number; seed: number }) {
  return (number: number): number => {
    const share = seededRandom(seed).fork(`part-${number}`).uniform();
    return Number((1 / (share / nearMm + (1 - share) / farMm)).toFixed(3));
  };
}
