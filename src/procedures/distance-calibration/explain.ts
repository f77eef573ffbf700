import type { CalibrationPoint, Station } from '../../station/index.js';
import type { BuildModel } from './fit-build.js';
import type { MapFit } from './maximum-a-posteriori.js';
import type { CalibrationDatum } from './observation.js';
import {
  type InTolerances,
  limitOfChiSquare,
  type SingleExplanation,
  singleExplanations,
} from './single-explanations.js';

/** Rise of χ² up to which another explanation counts as equally good: two standard deviations. */
const equallyGood = 4;

/**
 * The difference between measured and predicted best focus in words: its size, and which build error would explain it.
 *
 * Returns  one paragraph for the report: the most probable single error, and every other that the data cannot tell from
 *          it (χ² within 4); or that none does alone.
 */
export function explainDifference({
  model,
  data,
  held,
  released,
  outlier,
}: {
  model: BuildModel;
  data: readonly CalibrationDatum[];
  /** The fit with all tolerances held. */
  held: MapFit;
  /** Errors whose tolerances were let go. */
  released: readonly InTolerances[];
  outlier: CalibrationPoint | null;
}): string {
  const sentences = [differenceInWords(data), ...causeInWords(model, data, held)];
  if (released.length > 0) {
    const list = released.map((error) => inWords(model.station, error)).join('; ');
    sentences.push(
      `The tolerances contradict the points, so the curve was fitted free of ${released.length === 1 ? 'one' : `${released.length} of them`}: ${list}.`,
    );
  }
  if (outlier) {
    sentences.push(
      `The point at ${outlier.workingDistanceMm.toFixed(1)} mm lies ${signed(outlier.residualDpt, 3)} dpt off what the others say and was left out: check that distance.`,
    );
  }
  return sentences.join(' ');
}

function causeInWords(model: BuildModel, data: readonly CalibrationDatum[], fit: MapFit): string[] {
  const count = data.length;
  const tooLarge = limitOfChiSquare(count);
  const without = data.reduce((sum, { value, predictedDpt, std }) => sum + ((value - predictedDpt) / std) ** 2, 0);
  if (without <= tooLarge) {
    return [`That is within the measurement uncertainty (${chi(without, count)}): no build error needs to be assumed.`];
  }
  const singles = singleExplanations(model, data);
  const best = singles[0];
  if (best && best.chiSquare <= tooLarge) {
    const equal = singles.slice(1).filter(({ chiSquare }) => chiSquare <= best.chiSquare + equallyGood);
    const list = equal.map((other) => inWords(model.station, other)).join('; or ');
    return [
      `One build error alone, ${sizeInWords(best)}, would explain it: most probably ${inWords(model.station, best)} (${chi(best.chiSquare, count)}).`,
      ...(equal.length > 0 ? [`These distances cannot tell it from ${list}.`] : []),
      ...severalInWords(model, fit, best),
      ...(equal.length > 0 ? ['The calibration holds whichever it is.'] : []),
    ];
  }
  if (fit.chiSquare <= tooLarge) {
    const alone = best ? ` (the best, ${inWords(model.station, best)}, leaves ${chi(best.chiSquare, count)})` : '';
    return [`No single build error explains it${alone}; several together do (${chi(fit.chiSquare, count)}).`];
  }
  return [
    `No build error inside the tolerances explains it (${chi(fit.chiSquare, count)} with all of them): check the distances, the temperature and the station file.`,
  ];
}

/** The most probable single error in words, for a ledger row; null where the prediction holds or no single one explains. */
export function mostProbableError(model: BuildModel, data: readonly CalibrationDatum[]): string | null {
  const [best] = singleExplanations(model, data);
  if (!best || best.chiSquare > limitOfChiSquare(data.length)) return null;
  return `Most probably ${inWords(model.station, best)}; the calibration lists what explains it as well.`;
}

/** Several errors at once, where that is more probable than a single one. */
function severalInWords(model: BuildModel, fit: MapFit, best: SingleExplanation): string[] {
  if (fit.chiSquare + equallyGood > best.chiSquare + best.toleranceRatio ** 2) return [];
  const parts = model.parameters
    .map((parameter, j) => {
      const value = fit.parameters[j]!;
      return { parameter, value, toleranceRatio: Math.abs(value - parameter.value) / parameter.std };
    })
    .filter(({ toleranceRatio }) => toleranceRatio >= 0.3)
    .sort((a, b) => b.toleranceRatio - a.toleranceRatio);
  if (parts.length < 2) return [];
  return [
    `Smaller errors together are more probable: ${parts.map((part) => inWords(model.station, part)).join('; ')}.`,
  ];
}

const sizeInWords = ({ toleranceRatio }: InTolerances): string =>
  toleranceRatio <= 2 ? 'of a size that its tolerance allows' : 'beyond its tolerance';

function differenceInWords(data: readonly CalibrationDatum[]): string {
  const differences = data.map(({ value, predictedDpt }) => value - predictedDpt);
  const mean = differences.reduce((sum, d) => sum + d, 0) / differences.length;
  const side = mean >= 0 ? 'above' : 'below';
  const range = `${signed(Math.min(...differences), 3)} … ${signed(Math.max(...differences), 3)} dpt`;
  return `Best focus lies on average ${Math.abs(mean).toFixed(3)} dpt ${side} the prediction (${range} over ${data.length} distances).`;
}

/** "the spacer 0.031 mm longer than stated (1.5 σ of its tolerance)". */
function inWords(station: Station, { parameter, value, toleranceRatio }: InTolerances): string {
  const error = value - parameter.value;
  const share = `${toleranceRatio.toFixed(1)} σ of its tolerance`;
  const size = Math.abs(error);
  switch (parameter.name) {
    case 'powerOffsetDpt':
      return `a lens offset of ${signed(error, 3)} dpt (${share})`;
    case 'powerGain':
      return `a lens gain of ${value.toFixed(4)} instead of 1 (${share})`;
    case 'ringDistanceRelative': {
      const ringMm = station.layout.ringDistanceMm ?? 0;
      return `the focus ring at ${(ringMm * (1 + error)).toFixed(0)} mm instead of ${ringMm} mm (${share})`;
    }
    case 'spacerMm':
      return `the sensor ${size.toFixed(3)} mm ${error > 0 ? 'farther from' : 'nearer to'} the fixed lens than stated, as by a spacer ${error > 0 ? 'too long' : 'too short'} (${share})`;
    case 'focalLengthMm':
      return `a focal length of ${value.toFixed(3)} mm instead of ${parameter.value} mm (${share})`;
  }
}

/** With what it is held against: n points that scatter as they say give about n. */
const chi = (chiSquare: number, count: number): string => `χ² ${chiSquare.toFixed(1)}, about ${count} expected`;
const signed = (value: number, digits: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(digits)}`;
