import { FocuswrightError, throwIfCancelled } from '../base/index.js';
import type { TargetStage } from '../devices/index.js';

/** Asks a person to place the target; resolves to the distance as read, or to null where nobody can be asked. */
export type AskForTarget = (workingDistanceMm: number) => Promise<number | null>;

/** The stage of a real bench: a person. Throws `target-not-placeable` where nobody can be asked, or the answer is no distance. */
export function askedStage(ask: AskForTarget): TargetStage {
  return {
    distancesMm: null,
    async placeTarget({ workingDistanceMm, signal }) {
      if (signal) throwIfCancelled(signal, 'placing the target');
      const readMm = workingDistanceMm > 0 ? await ask(workingDistanceMm) : Number.NaN;
      if (signal) throwIfCancelled(signal, 'placing the target');
      if (readMm === null) {
        throw new FocuswrightError(
          'target-not-placeable',
          { workingDistance: `${workingDistanceMm} mm` },
          { remedy: 'Start it on a terminal: a person is asked to place the target.' },
        );
      }
      if (!(readMm > 0 && readMm <= 1e6)) {
        throw new FocuswrightError('target-not-placeable', {
          workingDistance: `${readMm} mm`,
          allowed: '> 0 mm and ≤ 1 km',
        });
      }
      return readMm;
    },
  };
}
