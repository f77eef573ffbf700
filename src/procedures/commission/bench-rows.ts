import type { LedgerRow } from '../../base/index.js';
import { greyValueStatistics } from '../../optics/index.js';
import { sensorNoiseModelOf, whitePhotonsPerPixel } from '../../station/index.js';
import { fixedText } from '../fixed-text.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { settleFraction } from '../sweep/run.js';
import { type Findings, judgeMeasured, sentences } from './findings.js';

/** Light, temperature and settling as met on the bench. */
export function benchRows(findings: Findings): LedgerRow[] {
  return [greyRow(findings), temperatureRow(findings), ...settlingRows(findings)];
}

function greyRow({ station, autofocus, exposureMs, recorded }: Findings): LedgerRow {
  const { sensor } = station.parts;
  const fullDn = 2 ** sensor.bitDepth - 1;
  const plannedMs = station.controls.exposureMs;
  const usedMs = exposureMs ?? plannedMs;
  const white = greyValueStatistics({
    sensor: sensorNoiseModelOf(station),
    photons: whitePhotonsPerPixel({ station, exposureMs: usedMs }),
    exposureMs: usedMs,
  });
  const points = autofocus.flatMap((result) => result.sweep.points);
  const meanDn = points.reduce((sum, point) => sum + point.meanGreyDn, 0) / points.length;
  const measured =
    points.length > 0 ? { value: meanDn, std: null, note: 'mean of the target, middle of the field' } : null;
  const required = {
    min: threeDigits(sensor.blackLevelDn + 0.02 * fullDn),
    max: Math.round(0.95 * fullDn),
  };
  const verdict = judgeMeasured(measured, required);
  const other = Math.abs(usedMs / plannedMs - 1) > 0.01;
  return {
    key: 'light.meanGrey',
    title: 'Mean grey value',
    unit: 'DN',
    required,
    predicted: null,
    predictedInWords: `${white.meanDn.toFixed(0)} for white`,
    measured,
    verdict: verdict === 'meets' && other ? 'marginal' : verdict,
    reason: sentences(
      measured
        ? `The target’s mean is ${meanDn.toFixed(0)} DN${exposureMs === null ? '' : ` at ${usedMs.toFixed(3)} ms`}; a white one is predicted at ${white.meanDn.toFixed(0)} DN${exposureMs === null ? ` for the station’s ${plannedMs} ms. The recording does not tell its exposure` : ''}.`
        : 'Not measured: no frame was taken.',
      other &&
        (recorded
          ? `The station says ${plannedMs} ms.`
          : `The exposure was adjusted from the station’s ${plannedMs} ms.`),
    ),
    remedy: other
      ? recorded
        ? `Record the frames at the station’s ${plannedMs} ms, or write the recorded exposure into the station file.`
        : `Set light or exposure anew: the station’s ${plannedMs} ms did not fit what was seen.`
      : verdict === 'meets'
        ? null
        : 'Adjust light or exposure.',
    basis:
      'EMVA 1288 linear model from the irradiance on the sensor; measured in the middle half of the sweeps’ frames.',
  };
}

const threeDigits = (value: number): number => Number(value.toPrecision(value >= 10 ? 3 : 2));

function temperatureRow({ station, autofocus }: Findings): LedgerRow {
  const readings = autofocus.flatMap(({ sweep }) =>
    sweep.points.flatMap(({ temperatureDegC: t }) => (t === null ? [] : [t])),
  );
  const { temperatureStdDegC } = station.commissioning;
  const warmest = Math.max(...readings);
  const measured = readings.length > 0 ? { value: warmest, std: temperatureStdDegC } : null;
  const required = { min: null, max: station.parts.tunableLens.temperatureMaxDegC };
  const verdict = judgeMeasured(measured, required);
  return {
    key: 'temperature.lens',
    title: 'Warmest lens temperature',
    unit: '°C',
    required,
    predicted: null,
    measured,
    verdict,
    reason: measured
      ? `${fixedText(Math.min(...readings), 1)} … ${fixedText(warmest, 1)} °C during the run; the drift of ${String(station.parts.tunableLens.temperatureCoefficientDptPerDegC).replace('-', '−')} dpt/°C is taken out of the calibration.`
      : 'The camera gives no temperature; the calibration reckons with the task’s whole temperature range.',
    remedy:
      verdict === 'meets'
        ? null
        : measured
          ? 'Let the lens cool and lower the sustained power.'
          : 'Read the lens’s temperature, or keep the room’s constant.',
    basis: 'Lens’s own reading with each frame; limit from its datasheet.',
  };
}

/** One row where settling was checked. */
function settlingRows({ station, settling }: Findings): LedgerRow[] {
  if (!settling) return [];
  const { nearMm, farMm } = station.task;
  const halfWidthDpt = Math.min(
    ...[nearMm, farMm].map((workingDistanceMm) => focusHalfWidthDpt({ station, workingDistanceMm })),
  );
  const measured = { value: Math.abs(settling.residualDpt), std: settling.residualStdDpt };
  const required = { min: null, max: mostResidual * halfWidthDpt };
  const verdict = judgeMeasured(measured, required);
  return [
    {
      key: 'settling.residual',
      title: 'Lens still off after its settling time',
      unit: 'dpt',
      required,
      predicted: { value: settleFraction * halfWidthDpt, std: null, note: 'the procedures wait until here' },
      measured,
      verdict,
      reason: `${measured.value.toFixed(4)} ± ${measured.std.toFixed(4)} dpt off, ${settling.waitMs.toFixed(0)} ms after a step of ${Math.abs(settling.stepDpt).toFixed(2)} dpt.`,
      remedy:
        verdict === 'meets'
          ? null
          : 'The lens is slower than the station file says, or creeps: measure its step response, correct natural frequency and damping, and commission again.',
      basis:
        'Sharpness on the steepest flank of the focus curve, at the usual wait and long after, over the slope of the curve.',
    },
  ];
}

/** Share of the depth-of-field half-width that the lens may still be off. */
const mostResidual = 0.1;
