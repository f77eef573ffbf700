import type { Feature } from './features.js';
import { choice, readNumber, setNumber } from './make-feature.js';
import type { ServedCameraData } from './served-camera-data.js';

/** Category of the features that only a simulated camera has. */
export const simulationCategory = 'SimulationControl';

const count = (name: string, help: string): Feature =>
  readNumber(simulationCategory, name, {
    kind: 'integer',
    help,
    min: 0,
    max: 2 ** 32 - 1,
    start: 0,
    visibility: 'Expert',
  });

/** What only a simulated camera has. */
export function simulationFeatures({ targetDistanceMm, targetDistanceMaxMm }: ServedCameraData): Feature[] {
  return [
    setNumber(simulationCategory, 'TargetDistance', {
      kind: 'float',
      help: 'Working distance to which the simulated target is brought; it arrives with a placement error, and takes time.',
      min: 1,
      max: targetDistanceMaxMm,
      unit: 'mm',
      start: targetDistanceMm,
    }),
    choice(simulationCategory, 'TargetStatus', ['Ready', 'Busy', 'Error'], {
      help: 'Whether the simulated target has arrived.',
      access: 'RO',
    }),
    count('OutOfRangeWriteCount', 'Numbers that clients wrote outside their range, or that were no numbers.'),
    count('FocalPowerWriteCount', 'Powers and steps that clients wrote inside their range.'),
    count('TriggerMissedCount', 'Software triggers that came while the camera was not ready for one.'),
  ];
}
