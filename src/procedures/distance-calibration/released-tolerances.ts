import type { BuildParameter } from './build-parameters.js';
import { type BuildModel, fitBuild } from './fit-build.js';
import type { MapFit } from './maximum-a-posteriori.js';
import type { CalibrationDatum } from './observation.js';
import { type InTolerances, limitOfChiSquare, singleExplanations, wide } from './single-explanations.js';

/** Size in tolerances beyond which a build error contradicts its tolerance. */
const mostTolerances = 3;

/** A fit whose tolerances were let go where the data contradict them. */
export interface ReleasedFit {
  /** With the tolerances that were let go widened. */
  model: BuildModel;
  fit: MapFit;
  /** The fit with all tolerances held. */
  held: MapFit;
  /** What was let go: the error found and its size in tolerances. */
  released: InTolerances[];
}

/**
 * Fits the build; where the data contradict a tolerance, without it.
 *
 * Model    contradicted: an error beyond three tolerances, or the sum of their squares above its mean plus three standard
 *          deviations. Let go is the single error that explains the data, if one does;
 *          else every error beyond three tolerances, or the largest, until none is left. A tolerance let go is taken 100 times.
 * Trust    which of several errors that act alike was let go is a guess; the curve is the same for each of them.
 */
export function fitReleased(
  model: BuildModel,
  data: readonly CalibrationDatum[],
  mustFocusMm: readonly number[] = [],
): ReleasedFit {
  const held = fitBuild(model, data, mustFocusMm);
  const names = new Set<string>();
  const widened = (): BuildModel => ({
    station: model.station,
    parameters: model.parameters.map((p) => (names.has(p.name) ? { ...p, std: wide * p.std } : p)),
  });
  let fit = held;
  while (names.size < model.parameters.length && contradicts(model, fit, names, data.length)) {
    for (const name of nextToRelease(model, data, fit, names)) names.add(name);
    fit = fitBuild(widened(), data, mustFocusMm);
  }
  const released = model.parameters.flatMap((parameter, j) => {
    const value = fit.parameters[j]!;
    return names.has(parameter.name) ? [{ parameter, value, toleranceRatio: sizeOf(parameter, value) }] : [];
  });
  return { model: widened(), fit, held, released };
}

/** Whether tolerances stand against the data: by their own share of χ², not by the scatter of the points. */
function contradicts({ parameters }: BuildModel, fit: MapFit, names: ReadonlySet<string>, count: number): boolean {
  const sizes = parameters.map((p, j) => (names.has(p.name) ? 0 : sizeOf(p, fit.parameters[j]!)));
  const strain = sizes.reduce((sum, size) => sum + size ** 2, 0);
  return Math.max(...sizes) > mostTolerances || strain > limitOfChiSquare(Math.min(count, parameters.length));
}

function nextToRelease(
  { station, parameters }: BuildModel,
  data: readonly CalibrationDatum[],
  fit: MapFit,
  names: ReadonlySet<string>,
): string[] {
  if (names.size === 0) {
    const [best] = singleExplanations({ station, parameters }, data);
    if (best && best.chiSquare <= limitOfChiSquare(data.length)) return [best.parameter.name];
  }
  const left = parameters
    .map((parameter, j) => ({ name: parameter.name, size: sizeOf(parameter, fit.parameters[j]!) }))
    .filter(({ name }) => !names.has(name))
    .sort((a, b) => b.size - a.size);
  const beyond = left.filter(({ size }) => size > mostTolerances);
  return (beyond.length > 0 ? beyond : left.slice(0, 1)).map(({ name }) => name);
}

const sizeOf = ({ value, std }: BuildParameter, fitted: number): number => Math.abs(fitted - value) / std;
