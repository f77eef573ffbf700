import { formatNumber, pupilText, sharePercent } from '../report/index.js';
import type { PlanRecord } from '../station/index.js';
import { textTable } from './output.js';

/** Pupils, light, moves of the lens and autofocus of a plan, as lines and tables. */
export function planDetailsText({ planes, light, timing, autofocus }: PlanRecord): string[] {
  const ms = (value: number | null, none: string) => (value === null ? none : `${formatNumber(value)} ms`);
  const lines = pupilLines(planes);
  if (light) {
    lines.push(
      '',
      `Light: ${formatNumber(light.irradianceUwPerCm2)} µW/cm² on the sensor from white (${light.from === 'measured-frame' ? 'from one measured frame' : 'as stated'}).`,
      `Exposure: ${ms(light.exposureMs, '')} as written; the signal-to-noise ratio needs ${ms(light.neededExposureMs, 'more than any exposure gives')}, motion allows ${ms(light.motionExposureMs, 'any (object at rest)')}, white saturates at ${ms(light.saturationExposureMs, '')}.`,
      `Gain: ${formatNumber(light.gainDnPerE)} DN/e⁻; ${formatNumber(light.fillingGainDnPerE)} DN/e⁻ would fill nine tenths of the grey values.`,
    );
  }
  if (timing.moves.length > 0) {
    lines.push(
      '',
      textTable([
        ['move', 'step dpt', 'plain command', 'two partial steps', 'three partial steps'],
        ...timing.moves.map((move) => [
          `${move.fromPlane} → ${move.toPlane}`,
          move.stepDpt.toFixed(3),
          ms(move.plainMs, 'never settles'),
          ms(move.zeroVibrationMs, 'does not ring'),
          ms(move.zeroVibrationDerivativeMs, 'does not ring'),
        ]),
      ]),
    );
  }
  if (autofocus) {
    lines.push(
      '',
      textTable([
        [`autofocus at ${autofocus.plane}`, 'bound 1σ dpt', 'with the lens dpt', 'inside depth of field', 'time'],
        ...autofocus.searches.map((search) => [
          search.name === 'three-probes' ? 'three probes' : 'sweep of nine frames',
          formatNumber(search.boundStdDpt, 2),
          formatNumber(search.finalStdDpt, 2),
          sharePercent(search.insideProbability),
          ms(search.timeMs, 'never settles'),
        ]),
      ]),
    );
  }
  return lines;
}

/** Pupils and aperture of the planes that can be focused. */
function pupilLines(planes: PlanRecord['planes']): string[] {
  const rows = planes.flatMap(({ name, pupils, workingFNumber, objectNumericalAperture, limitingStop }) =>
    pupils === null
      ? []
      : [
          [
            name,
            pupilText(pupils.entrance, 'behind the front'),
            pupilText(pupils.exit, 'before the sensor'),
            workingFNumber.toFixed(2),
            formatNumber(objectNumericalAperture),
            formatNumber(1 / (2 * workingFNumber)),
            limitingStop.replace('-', ' '),
          ],
        ],
  );
  if (rows.length === 0) return [];
  const head = ['plane', 'entrance pupil mm', 'exit pupil mm', 'working f-number', 'NA object', 'NA image', 'stop'];
  return ['', textTable([head, ...rows])];
}
