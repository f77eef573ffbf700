import type { LedgerRow } from '../../base/index.js';
import { type BarsRead, type EdgesRead, mtfAt, type StarReading } from '../../image/index.js';
import { formatNumber, withUnit } from '../../report/index.js';
import { estimateOf, measuredRow } from './measured-row.js';
import type { FramePrediction } from './prediction.js';

const edgeBasis =
  'Likelihood fit of a parametric edge to a slanted edge: the measurand of the e-SFR of ISO 12233, not its steps. Prediction: diffraction, defocus, wavefront error of the parts, pixel; on the axis, target at rest.';

/** An edge response: contrast at the task's frequency, MTF50 and MTF10, rise and tilt. */
export function edgeRows(read: EdgesRead & { kind: 'measured' }, about: FramePrediction): LedgerRow[] {
  const { taskFrequencyPerPx: task, mtfAtTask, mtf50PerPx, station } = about;
  const sampled = task !== null && task <= 0.5;
  const here = sampled ? mtfAt(read.mtf, task) : null;
  const scaled = (sensor: number | null, object: number | null) =>
    [
      sensor === null ? '' : `${withUnit(sensor, 'lp/mm')} on the sensor`,
      object === null ? '' : `${withUnit(object, 'lp/mm')} on the object`,
    ]
      .filter((part) => part !== '')
      .join(', ');
  return [
    measuredRow({
      key: 'edge.mtfAtTask',
      title: 'MTF at the task frequency',
      least: station.task.contrastNeeded,
      measured: here,
      predicted: sampled ? estimateOf(mtfAtTask) : null,
      ...(task !== null && !sampled && { measuredInWords: 'cannot be sampled' }),
      reason:
        task === null
          ? 'No power focuses this distance, so the task’s frequency is not known on the sensor.'
          : `The smallest feature falls on ${formatNumber(task)} cycles/px at ${about.place.workingDistanceMm} mm${sampled ? '' : '; the sensor samples up to 0.5'}.`,
      remedy:
        here && here.value < station.task.contrastNeeded
          ? 'Focus first; then compare with the prediction: an f-number, a spacer or the lens may differ from the station file.'
          : null,
      basis: edgeBasis,
    }),
    measuredRow({
      key: 'edge.mtf50',
      title: 'MTF50',
      unit: 'cycles/px',
      measured: estimateOf(read.mtf50PerPx, read.mtf50StdPerPx),
      predicted: estimateOf(mtf50PerPx),
      ...(read.mtf50PerPx === null && { measuredInWords: 'above 1' }),
      reason: `Where the contrast falls through one half${read.mtf50SensorPerMm === null ? '' : `: ${scaled(read.mtf50SensorPerMm, read.mtf50ObjectPerMm)}`}.`,
      basis: edgeBasis,
    }),
    measuredRow({
      key: 'edge.mtf10',
      title: 'MTF10',
      unit: 'cycles/px',
      measured: estimateOf(read.mtf10PerPx, read.mtf10StdPerPx),
      ...(read.mtf10PerPx === null && { measuredInWords: 'above 1' }),
      reason: `Where the contrast falls through one tenth${read.mtf10SensorPerMm === null ? '' : `: ${scaled(read.mtf10SensorPerMm, read.mtf10ObjectPerMm)}`}.`,
      basis: edgeBasis,
    }),
    measuredRow({
      key: 'edge.rise',
      title: '10–90 % rise',
      unit: 'px',
      measured: estimateOf(read.riseDistancePx),
      reason: `From ${formatNumber(read.darkDn)} to ${formatNumber(read.brightDn)} DN${read.edgeBowPx > 0 ? `; the edge is bent by ${withUnit(read.edgeBowPx, 'px')}` : ''}.`,
      basis: edgeBasis,
    }),
    measuredRow({
      key: 'edge.angle',
      title: 'Tilt of the edge',
      unit: '°',
      measured: estimateOf(read.edgeAngleDeg, read.edgeAngleStdDeg),
      reason: `${read.orientation === 'near-vertical' ? 'Near-vertical' : 'Near-horizontal'} edge; 2 to 14 degrees are wanted.${read.edges.length > 1 ? ` ${read.edges.length} edges were found; this one has the best ratio of contrast to noise.` : ''}`,
      basis: edgeBasis,
    }),
  ];
}

/** Three-bar elements: the last resolved ones, and how their sizes fit the scale given. */
export function barsRows(read: BarsRead, { station }: FramePrediction): LedgerRow[] {
  const { lastResolved, criterion, elements, sizeRatio, sizeRatioStd, umPerPx } = read;
  const basis = `MIL-STD-150A series; resolved from a contrast of ${criterion.modulation.toFixed(3)} on (${criterion.name === 'rayleigh-dip' ? 'a dip of 26.5 %, as between two points at Rayleigh’s distance' : 'as asked for'}).`;
  const needed = 1 / (2 * station.task.smallestFeatureMm);
  const rows = (['joint', 'horizontal', 'vertical'] as const).map((way) => {
    const last = lastResolved[way];
    const seen = elements.filter(({ barsRun }) => way === 'joint' || barsRun === way);
    const own = last && seen.find((e) => e.group === last.group && e.element === last.element);
    return measuredRow({
      key: `bars.${way}`,
      title: `Last resolved, ${way === 'joint' ? 'both ways' : `${way} bars`}`,
      unit: 'lp/mm',
      least: way === 'joint' ? needed : null,
      measured: estimateOf(last?.lpPerMm ?? null),
      ...(last === null && { measuredInWords: 'none' }),
      reason:
        last === null
          ? `None of ${seen.length} patterns is resolved.`
          : `Group ${last.group} element ${last.element}${own ? `, contrast ${own.contrast.toFixed(3)} ± ${own.contrastStd.toFixed(3)}` : ''}; ${seen.length} patterns found.`,
      remedy:
        way === 'joint' && last !== null && last.lpPerMm < needed
          ? 'Focus first; then look at f-number and distance.'
          : null,
      basis,
    });
  });
  return [
    ...rows,
    measuredRow({
      key: 'bars.sizeRatio',
      title: 'Sizes over those of the scale',
      measured: estimateOf(sizeRatio, sizeRatioStd),
      predicted: estimateOf(1),
      reason: `A pixel is then ${withUnit(umPerPx / sizeRatio, 'µm')} on the object instead of ${withUnit(umPerPx, 'µm')}.`,
      basis,
    }),
  ];
}

/** A star: contrast one half, its best and worst direction, and the shift of fine detail. */
export function starRows(read: StarReading & { kind: 'measured' }, { mtf50PerPx }: FramePrediction): LedgerRow[] {
  const basis =
    'Harmonic fit on rings in eight sectors, contrast relative to that of the coarsest rings. Prediction: MTF50 of the system, on the axis.';
  const { astigmatism, field, rings, centreXPx, centreYPx, centreStdPx } = read;
  const last = rings.at(-1)!;
  return [
    measuredRow({
      key: 'star.mtf50',
      title: 'MTF50, mean of all directions',
      unit: 'cycles/px',
      measured: estimateOf(read.mtf50PerPx),
      predicted: estimateOf(mtf50PerPx),
      ...(read.mtf50PerPx === null && { measuredInWords: 'not reached' }),
      reason: `${rings.length} rings from ${formatNumber(rings[0]!.frequencyPerPx)} to ${formatNumber(last.frequencyPerPx)} cycles/px.`,
      basis,
    }),
    measuredRow({
      key: 'star.softest',
      title: 'MTF50, softest direction',
      unit: 'cycles/px',
      measured: estimateOf(astigmatism?.softestMtf50PerPx ?? null),
      reason: astigmatism
        ? `Sharpest along ${formatNumber(astigmatism.sharpestDirectionDeg)}° (clockwise from the right): ${withUnit(astigmatism.sharpestMtf50PerPx, 'cycles/px')}.${field ? ` Tangential ${perPx(field.tangentialMtf50PerPx)}, sagittal ${perPx(field.sagittalMtf50PerPx)}.` : ''}`
        : 'A direction does not fall to a contrast of one half: no comparison of directions.',
      basis,
    }),
    measuredRow({
      key: 'star.coma',
      title: 'Shift of fine detail',
      unit: 'px',
      measured: estimateOf(read.comaShiftPx),
      reason: 'Largest shift of a finer ring against the coarsest: coma, or a star that is not drawn round one centre.',
      basis,
    }),
    measuredRow({
      key: 'star.centre',
      title: 'Centre, from the left',
      unit: 'px',
      measured: estimateOf(centreXPx, centreStdPx),
      reason: `From the top ${centreYPx.toFixed(2)} px.`,
      basis,
    }),
  ];
}

const perPx = (value: number | null) => (value === null ? 'not reached' : withUnit(value, 'cycles/px'));
