import { focalPowerAt, type LayoutModel, withFocalLength } from '../optics/index.js';
import type { Station } from '../station/index.js';

/** How far the power that a distance needs may turn out to lie from the one predicted. */
export interface PowerTolerance {
  /** Standard deviation over built stations: lens offset and gain, ring, focal length, spacer. */
  buildStdDpt: number;
  /** Largest drift with temperature over the task's range, either way. */
  driftDpt: number;
  /** What must be kept free inside the limits: 2 · std + drift. */
  neededDpt: number;
}

/**
 * Tolerance of the power needed at a distance.
 *
 * Model    small independent deviations, linear about the layout as written: each part's tolerance times the slope of
 *          the needed power against it (by difference)
 * Formula  √(σ_offset² + (σ_gain·P)² + Σ (∂P/∂x·σ_x)²);  drift = |k|·max|T − T_ref|
 */
export function powerTolerance({
  station,
  model,
  workingDistanceMm,
  powerDpt,
}: {
  station: Station;
  model: LayoutModel;
  workingDistanceMm: number;
  powerDpt: number;
}): PowerTolerance {
  const { fixedLens, tunableLens, spacer } = station.parts;
  const { focalLengthMm } = model.fixedLens;
  const deviating: ((sign: 1 | -1) => LayoutModel)[] = [
    (sign) => ({ ...model, spacerMm: model.spacerMm + sign * spacer.tolerance.lengthMm }),
    (sign) => {
      const longerMm = focalLengthMm + sign * fixedLens.tolerance.focalLengthMm;
      return { ...model, fixedLens: withFocalLength({ fixedLens: model.fixedLens, focalLengthMm: longerMm }) };
    },
  ];
  const { ringDistanceMm } = model;
  if (ringDistanceMm !== null) {
    deviating.push((sign) => {
      return { ...model, ringDistanceMm: ringDistanceMm * (1 + sign * fixedLens.tolerance.ringDistanceRelative) };
    });
  }
  const neededDpt = (layout: (sign: 1 | -1) => LayoutModel) =>
    neededPowerDpt(layout, 1, workingDistanceMm) ?? neededPowerDpt(layout, -1, workingDistanceMm);
  const deviations = deviating.map((layout) => (neededDpt(layout) ?? powerDpt) - powerDpt);
  const { offsetDpt, gainRelative } = tunableLens.tolerance;
  const buildStdDpt = Math.hypot(offsetDpt, gainRelative * powerDpt, ...deviations);
  const driftDpt = Math.max(...temperatureShiftsDpt(station).map(Math.abs));
  return { buildStdDpt, driftDpt, neededDpt: 2 * buildStdDpt + driftDpt };
}

/** Power for the distance in a deviating layout; null where that cannot be built, as at the very edge of what can. */
function neededPowerDpt(layout: (sign: 1 | -1) => LayoutModel, sign: 1 | -1, workingDistanceMm: number): number | null {
  try {
    const found = focalPowerAt({ model: layout(sign), workingDistanceMm });
    return found.kind === 'power' ? found.focalPowerDpt : null;
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** Change of the lens’s power at the coldest and at the warmest of the task, at a constant command. */
export function temperatureShiftsDpt({ task, parts: { tunableLens } }: Station): [number, number] {
  const shift = (temperatureDegC: number) =>
    tunableLens.temperatureCoefficientDptPerDegC * (temperatureDegC - tunableLens.referenceTemperatureDegC);
  return [shift(task.temperatureMinDegC), shift(task.temperatureMaxDegC)];
}
