import { counted, type Estimate, type LedgerRow } from '../../base/index.js';
import type { FocusReading, GridReading } from '../../image/index.js';
import { formatNumber, sharePercent, withUnit } from '../../report/index.js';
import type { PairNoise } from './measure-order.js';
import { estimateOf, measuredRow } from './measured-row.js';
import type { FramePrediction } from './prediction.js';

/** Focus measures of a region. */
export function focusRows(read: FocusReading & { kind: 'measured' }): LedgerRow[] {
  const basis =
    'Published definitions, per pixel of the region; compare readings of one scene, exposure and region size.';
  return [
    measuredRow({
      key: 'focus.mean',
      title: 'Mean grey value',
      unit: 'DN',
      measured: estimateOf(read.meanGreyDn),
      reason: `${sharePercent(read.saturatedFraction)} of the pixels are saturated.`,
      basis,
    }),
    ...read.values.map(({ name, value, unit, std, noiseFloor }) =>
      measuredRow({
        key: `focus.${name}`,
        title: name,
        unit,
        measured: { value, std },
        reason:
          noiseFloor === null
            ? 'No noise was given, so it has no uncertainty.'
            : `Noise alone adds ${withUnit(noiseFloor, unit)}.`,
        basis,
      }),
    ),
  ];
}

/** Scale, turn and distortion from a grid. */
export function gridRows(read: GridReading & { kind: 'measured' }, about: FramePrediction): LedgerRow[] {
  const basis =
    'Least squares of perspective and radial distortion over all points; standard deviations from the fit’s own residual. Prediction: pixel pitch over the size ratio at the distance and power, breathing included.';
  const percent = ({ value, std }: Estimate): Estimate => ({
    value: 100 * value,
    std: std === null ? null : 100 * std,
  });
  return [
    measuredRow({
      key: 'grid.pixel',
      title: 'A pixel on the object',
      unit: 'mm',
      measured: read.pixelMm,
      predicted: estimateOf(about.pixelMm),
      reason: `${withUnit(read.pixelAlongRowsMm, 'mm', 6)} along the rows of the target, ${withUnit(read.pixelAlongColumnsMm, 'mm', 6)} along its columns; ${read.pointCount} points (${read.pattern}).`,
      basis,
    }),
    measuredRow({
      key: 'grid.distortion',
      title: `Distortion at half the diagonal (${read.cornerDistortionFraction.value < 0 ? 'barrel' : 'pincushion'})`,
      unit: '%',
      measured: percent(read.cornerDistortionFraction),
      reason: `About (${read.distortionCentreXPx.value.toFixed(0)}, ${read.distortionCentreYPx.value.toFixed(0)}) px, known to ±${formatNumber(read.distortionCentreXPx.std ?? 0, 2)} px.`,
      basis,
    }),
    measuredRow({
      key: 'grid.rotation',
      title: 'Turn of the target, clockwise',
      unit: '°',
      measured: read.rotationDeg,
      reason: `Perspective changes the scale by ${sharePercent(read.perspectiveXFraction)} to the right and ${sharePercent(read.perspectiveYFraction)} downwards.`,
      basis,
    }),
    measuredRow({
      key: 'grid.residual',
      title: 'Residual, rms',
      unit: 'px',
      measured: estimateOf(read.residualRmsPx),
      reason: 'How far the points lie from a flat grid with radial distortion.',
      basis,
    }),
  ];
}

/** Noise of two frames beside that of the station's sensor. */
export function noiseRows(
  read: PairNoise & { kind: 'measured' },
  { about, bitDepth }: { about: FramePrediction; bitDepth: number },
): LedgerRow[] {
  const basis =
    'Half the variance of the difference of two frames (EMVA 1288), a change of the whole frame’s brightness taken off. Prediction: read noise, photon noise and rounding of the station’s sensor at this grey value.';
  const temporal = Math.sqrt(read.temporalVarianceDn2);
  const spatial = Math.sqrt(Math.max(0, read.spatialVarianceDn2));
  const predicted = about.noiseStdDn(read.meanDn, bitDepth);
  const ratio = temporal / predicted;
  return [
    measuredRow({
      key: 'noise.temporal',
      title: 'Temporal noise of a pixel',
      unit: 'DN',
      measured: { value: temporal, std: read.temporalVarianceStdDn2 / (2 * temporal) },
      predicted: { value: predicted, std: null, note: 'sensor as the station file says' },
      reason: `${formatNumber(ratio)} times the prediction; signal over noise ${formatNumber(read.meanDn / temporal)}.`,
      remedy:
        Math.abs(ratio - 1) > 0.2
          ? 'Check gain, bit depth and black level of the camera against the station file; a series of levels tells which: focuswright measure noise.'
          : null,
      basis,
    }),
    measuredRow({
      key: 'noise.mean',
      title: 'Mean grey value',
      unit: 'DN',
      measured: estimateOf(read.meanDn),
      reason: `${read.pixelCount} pixels, ${counted(read.frameCount, 'frame')}.`,
      basis,
    }),
    measuredRow({
      key: 'noise.spatial',
      title: 'Spatial variation in blocks of 16 × 16 px',
      unit: 'DN',
      measured: { value: spatial, std: spatial > 0 ? read.spatialVarianceStdDn2 / (2 * spatial) : null },
      reason: 'Fixed pattern of the sensor, and whatever structure the scene has: an even, defocused field is wanted.',
      basis,
    }),
    measuredRow({
      key: 'noise.flicker',
      title: 'Change of brightness between the frames',
      unit: 'DN',
      measured: estimateOf(read.flickerStdDn),
      reason: 'Standard deviation of the frames’ means: flicker of the light.',
      basis,
    }),
  ];
}
