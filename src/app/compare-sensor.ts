import type { Estimate } from '../base/index.js';
import type { PhotonTransferMeasured } from '../image/index.js';
import type { Station } from '../station/index.js';

/** One value of the station's sensor beside what was measured. */
export interface SensorComparison {
  name: 'gainDnPerE' | 'readNoiseE' | 'fullWellE' | 'blackLevelDn';
  unit: string;
  /** What the planner computes with; gain and black level in grey values of the frames' bit depth. */
  predicted: Estimate;
  measured: Estimate | null;
  /** measured / predicted − 1; null where nothing was measured, or 0 is predicted. */
  deviationFraction: number | null;
  /** Difference over the uncertainty of the measurement. */
  deviationInStd: number | null;
}

/** The planner's sensor beside the measured camera. Gain and black level are scaled where the frames have another bit depth. */
export function compareSensor({
  sensor,
  measured,
  bitDepth,
}: {
  sensor: Station['parts']['sensor'];
  measured: PhotonTransferMeasured;
  bitDepth: number;
}): SensorComparison[] {
  const scale = 2 ** (bitDepth - sensor.bitDepth);
  const row = (
    name: SensorComparison['name'],
    unit: string,
    value: number,
    found: Estimate | null,
  ): SensorComparison => ({
    name,
    unit,
    predicted: { value, std: null, note: 'as the station file says' },
    measured: found,
    deviationFraction: found && value !== 0 ? found.value / value - 1 : null,
    deviationInStd: found?.std ? (found.value - value) / found.std : null,
  });
  return [
    row('gainDnPerE', 'DN/e', sensor.gainDnPerE * scale, measured.gainDnPerE),
    row('readNoiseE', 'e', sensor.readNoiseE, measured.readNoiseE),
    row('fullWellE', 'e', sensor.fullWellE, measured.fullWellE),
    row('blackLevelDn', 'DN', sensor.blackLevelDn * scale, measured.blackLevelDn),
  ];
}
