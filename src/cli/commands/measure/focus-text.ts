import { type FocusReading, regionInWords } from '../../../image/index.js';
import { formatEstimate, formatNumber, sharePercent } from '../../../report/index.js';
import { textTable } from '../../output.js';
import { refusalText } from './write-measurement.js';

/** One region's reading: a line about its grey values and a table of the measures. */
export function focusText(reading: FocusReading): string {
  const where = regionInWords(reading.region);
  if (reading.kind === 'refused') return `${where}\n${refusalText(reading)}`;
  const { meanGreyDn, saturatedFraction, values } = reading;
  const rows = values.map(({ name, value, unit, std, noiseFloor }) => {
    const shown = formatEstimate({ value, std }, unit);
    const floor = noiseFloor === null ? '' : formatNumber(noiseFloor);
    return [name, shown.value, shown.uncertainty, floor, shown.unit];
  });
  return [
    `${where}: mean ${formatNumber(meanGreyDn)} DN, ${sharePercent(saturatedFraction)} saturated`,
    textTable([['measure, per pixel', 'value', 'std', 'noise floor', 'unit'], ...rows]),
  ].join('\n');
}
