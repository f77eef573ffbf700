import type { FileLevel, SensorComparison } from '../../../app/index.js';
import type { Estimate } from '../../../base/index.js';
import { type PhotonTransfer, type PhotonTransferMeasured, type Region, regionInWords } from '../../../image/index.js';
import { formatEstimate, formatNumber, sharePercent, withUnit } from '../../../report/index.js';
import { textTable } from '../../output.js';
import { refusalText } from './write-measurement.js';

/** A noise measurement as a page of text. */
export function noiseText({
  paths,
  source,
  levels,
  result,
  comparison,
}: {
  paths: readonly string[];
  source: { widthPx: number; heightPx: number; bitDepth: number; region: Region };
  levels: readonly FileLevel[];
  result: PhotonTransfer;
  comparison: readonly SensorComparison[] | null;
}): string {
  const { widthPx, heightPx, bitDepth, region } = source;
  const what = paths.length === 1 ? paths[0]! : `${paths.length} files`;
  return [
    `${what}: ${widthPx} × ${heightPx} px, ${bitDepth} bit; measured on ${regionInWords(region)}`,
    '',
    textTable([['level', 'exposure', 'frames', 'mean', 'noise', 'pattern', 'saturated'], ...levels.map(levelRow)]),
    '',
    ...(result.kind === 'refused' ? [refusalText(result)] : resultLines(result)),
    ...(comparison
      ? ['', 'Beside the station’s sensor:', textTable([comparisonHead, ...comparison.map(comparisonRow)])]
      : []),
  ].join('\n');
}

function levelRow(level: FileLevel, index: number): string[] {
  const { exposureMs, dark, frameCount, meanDn, temporalVarianceDn2, spatialVarianceDn2, saturatedFraction } = level;
  return [
    `${index + 1}${dark ? ' dark' : ''}`,
    exposureMs === null ? '–' : withUnit(exposureMs, 'ms'),
    String(frameCount),
    withUnit(meanDn, 'DN', 5),
    withUnit(Math.sqrt(temporalVarianceDn2), 'DN'),
    withUnit(Math.sqrt(Math.max(0, spatialVarianceDn2)), 'DN'),
    sharePercent(saturatedFraction),
  ];
}

function resultLines(result: PhotonTransferMeasured): string[] {
  const row = (title: string, estimate: Estimate | null, unit: string): string[] => {
    const shown = formatEstimate(estimate, unit);
    return [title, shown.value, shown.uncertainty, shown.unit];
  };
  const percent = (estimate: Estimate | null): Estimate | null =>
    estimate && { value: 100 * estimate.value, std: estimate.std === null ? null : 100 * estimate.std };
  const { fit } = result;
  const chi = fit.reducedChiSquare === null ? '' : `, reduced χ² ${formatNumber(fit.reducedChiSquare, 2)}`;
  return [
    textTable([
      ['', 'value', 'std', 'unit'],
      row('system gain', result.gainDnPerE, 'DN/e'),
      row('read noise', result.readNoiseE, 'e'),
      row('black level', result.blackLevelDn, 'DN'),
      row('saturation', result.saturationDn, 'DN'),
      row('saturation capacity', result.saturationCapacityE, 'e'),
      row('full well', result.fullWellE, 'e'),
      row('dark current', result.darkCurrentEPerS, 'e/s'),
      row('dark non-uniformity (DSNU)', result.darkNonUniformityE, 'e'),
      row('response non-uniformity (PRNU)', percent(result.responseNonUniformity), '%'),
    ]),
    '',
    `Line through ${fit.levelCount} levels from ${withUnit(fit.lowDn, 'DN')} to ${withUnit(fit.highDn, 'DN')}: residual ${sharePercent(fit.residualFraction)} rms${chi}`,
    ...result.cautions.map((caution) => `Caution: ${caution}`),
  ];
}

const comparisonHead = ['', 'measured', 'std', 'station', 'unit', 'difference'];

function comparisonRow({
  name,
  unit,
  predicted,
  measured,
  deviationFraction,
  deviationInStd,
}: SensorComparison): string[] {
  const shown = formatEstimate(measured, unit);
  const difference =
    deviationFraction === null
      ? ''
      : `${deviationFraction < 0 ? '−' : '+'}${sharePercent(Math.abs(deviationFraction))}`;
  const inStd = deviationInStd === null ? '' : ` (${formatNumber(Math.abs(deviationInStd), 2)} std)`;
  return [name, shown.value, shown.uncertainty, formatNumber(predicted.value), unit, `${difference}${inStd}`];
}
