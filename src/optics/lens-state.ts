import { requireFinite, requirePositive } from '../base/index.js';

/** What turns a commanded focal power into the power that light meets. */
export interface LensState {
  /** Slope of actual over commanded power; 1 for a true lens. */
  gain: number;
  offsetDpt: number;
  temperatureDegC: number;
  /** Temperature at which gain and offset hold. */
  referenceTemperatureDegC: number;
  temperatureCoefficientDptPerDegC: number;
}

/**
 * Actual focal power of a tunable lens at a command.
 *
 * Model    straight line plus linear drift with temperature; no hysteresis, no creep
 * Formula  P = gain·P_cmd + offset + k·(T − T_ref)
 * Throws   RangeError naming the field, if one is not finite or the gain not > 0.
 * Trust    datasheets seldom give the drift; measure it. A coefficient that itself depends on power is left out.
 */
export function focalPowerActualDpt({ commandedDpt, ...state }: LensState & { commandedDpt: number }): number {
  requireFinite('commandedDpt', commandedDpt, 'dpt');
  return requirePositive('gain', state.gain) * commandedDpt + shiftDpt(state);
}

/**
 * The command that gives an actual focal power: the inverse of focalPowerActualDpt, with the same model and limits.
 *
 * Throws   RangeError naming the field, if one is not finite or the gain not > 0.
 * Checked  property: inverse, tests/optics/lens-state.test.ts
 */
export function focalPowerCommandDpt({ actualDpt, ...state }: LensState & { actualDpt: number }): number {
  requireFinite('actualDpt', actualDpt, 'dpt');
  return (actualDpt - shiftDpt(state)) / requirePositive('gain', state.gain);
}

function shiftDpt(state: LensState): number {
  requireFinite('offsetDpt', state.offsetDpt, 'dpt');
  requireFinite('temperatureDegC', state.temperatureDegC, '°C');
  requireFinite('referenceTemperatureDegC', state.referenceTemperatureDegC, '°C');
  requireFinite('temperatureCoefficientDptPerDegC', state.temperatureCoefficientDptPerDegC, 'dpt/°C');
  return (
    state.offsetDpt + state.temperatureCoefficientDptPerDegC * (state.temperatureDegC - state.referenceTemperatureDegC)
  );
}
