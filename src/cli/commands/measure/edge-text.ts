import { type EdgesRead, mtfAt, regionInWords } from '../../../image/index.js';
import { formatEstimate, formatNumber } from '../../../report/index.js';
import { textTable, withMinusSigns } from '../../output.js';
import { refusalText } from './write-measurement.js';

/** Frequencies of the printed table, cycles per pixel. */
const printed = [0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5];

/** An edge response as lines and a table, and the other edges found. */
export function edgeText(read: EdgesRead): string {
  if (read.kind === 'refused') return refusalText(read);
  const angle = formatEstimate({ value: read.edgeAngleDeg, std: read.edgeAngleStdDeg }, '°');
  const frequencyLine = (
    name: string,
    perPx: number | null,
    std: number | null,
    sensor: number | null,
    object: number | null,
  ) =>
    perPx === null
      ? `${name}: above 1 cycle/px`
      : [
          `${name}: ${formatNumber(perPx)} ± ${formatNumber(std ?? 0)} cycles/px`,
          sensor === null ? '' : `${formatNumber(sensor)} lp/mm on the sensor`,
          object === null ? '' : `${formatNumber(object)} lp/mm on the object`,
        ]
          .filter((part) => part !== '')
          .join(', ');
  const lines = [
    `${regionInWords(read.region)}: ${read.orientation} edge, tilted ${angle.value} ${angle.uncertainty}°, ${formatNumber(read.darkDn)} to ${formatNumber(read.brightDn)} DN`,
    frequencyLine('MTF50', read.mtf50PerPx, read.mtf50StdPerPx, read.mtf50SensorPerMm, read.mtf50ObjectPerMm),
    frequencyLine('MTF10', read.mtf10PerPx, read.mtf10StdPerPx, read.mtf10SensorPerMm, read.mtf10ObjectPerMm),
    `10–90 % rise: ${formatNumber(read.riseDistancePx)} px${read.edgeBowPx > 0 ? `; edge bent by ${formatNumber(read.edgeBowPx)} px` : ''}`,
    '',
    textTable([
      ['cycles/px', 'MTF', 'std'],
      ...printed.map((f) => {
        const { value, std } = mtfAt(read.mtf, f)!;
        return [f.toFixed(2), value.toFixed(3), std.toFixed(3)];
      }),
    ]),
  ];
  if (read.edges.length > 1) {
    lines.push(
      '',
      `${read.edges.length} edges, the best first:`,
      textTable([
        ['region', 'edge', 'tilt', 'MTF50, cycles/px'],
        ...read.edges.map((edge) => [
          regionInWords(edge.region),
          edge.orientation,
          `${edge.edgeAngleDeg.toFixed(2)}°`,
          edge.mtf50PerPx === null ? 'above 1' : formatNumber(edge.mtf50PerPx),
        ]),
      ]),
    );
  }
  return withMinusSigns(lines.join('\n'));
}
