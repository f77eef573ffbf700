import type { FocusMeasure } from '../image/index.js';
import { classicMethod, type FocusMethod, type SweepFit } from '../procedures/index.js';
import { type FocusMethodName, focusMethodNames, type Station } from '../station/index.js';

/** The methods that can be run. */
export const runnableMethods = focusMethodNames.filter((name) => name !== 'model');

/** The focus method of a name. `station` null: its optics are not known. */
export function focusMethodOf(
  name: FocusMethodName,
  { station: _, measure, fit }: { station: Station | null; measure?: FocusMeasure; fit?: SweepFit },
): FocusMethod {
  return classicMethod(name as Exclude<FocusMethodName, 'model'>, { ...(measure && { measure }), ...(fit && { fit }) });
}
