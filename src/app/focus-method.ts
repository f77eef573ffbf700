import type { FocusMeasure } from '../image/index.js';
import { classicMethod, type FocusMethod, modelFocus, type SweepFit, stationFocusOptics } from '../procedures/index.js';
import type { FocusMethodName, Station } from '../station/index.js';

/** The focus method of a name. `station` null: its optics are not known. */
export function focusMethodOf(
  name: FocusMethodName,
  { station, measure, fit }: { station: Station | null; measure?: FocusMeasure; fit?: SweepFit },
): FocusMethod {
  if (name === 'model') return modelFocus({ optics: station && stationFocusOptics(station) });
  return classicMethod(name, { ...(measure && { measure }), ...(fit && { fit }) });
}
