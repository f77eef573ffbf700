import type { CameraIdentity } from '../devices/index.js';
import type { FocusMeasure } from '../image/index.js';
import {
  classicMethod,
  type FocusMethod,
  modelFocus,
  rememberingFocus,
  type SweepFit,
  stationFocusOptics,
} from '../procedures/index.js';
import type { FocusMethodName, KeptBlur, Station } from '../station/index.js';
import { keepBlurOf, keptBlurOf } from './kept-blurs.js';

interface MethodOptions {
  station: Station | null;
  measure?: FocusMeasure;
  fit?: SweepFit;
}

/** The focus method of a name. `station` null: its optics are not known. */
export function focusMethodOf(name: FocusMethodName, { station, measure, fit }: MethodOptions): FocusMethod {
  if (name === 'model') return modelFocus({ optics: station && stationFocusOptics(station) });
  return classicMethod(name, { ...(measure && { measure }), ...(fit && { fit }) });
}

/** What was known of a camera's blur before a run, and what is kept after it. */
export interface BlurReport {
  before: KeptBlur | null;
  after: KeptBlur | null;
  /** The run contradicted what was kept. */
  isForgotten: boolean;
  /** false: the user's data could not be written. */
  isKept: boolean;
}

/**
 * The focus method of a name, which learns where it can: the model on a camera without a station keeps the blur scale for the next
 * run. A recording teaches nothing that a next run could use.
 *
 * Input    `mayLearn`: false for a run that has to be computed again from its recording alone: it neither uses nor keeps a scale
 *
 * Returns  the method, and `keep`, which is called when the run has ended; it resolves to null where nothing is learned.
 */
export async function learningMethodOf(
  name: FocusMethodName,
  {
    camera,
    forgetFirst = false,
    mayLearn = true,
    ...options
  }: MethodOptions & { camera: CameraIdentity; forgetFirst?: boolean; mayLearn?: boolean },
): Promise<{ method: FocusMethod; keep: () => Promise<BlurReport | null> }> {
  const learns = mayLearn && name === 'model' && options.station === null && !/^(frames|replay):/.test(camera.id);
  if (!learns) return { method: focusMethodOf(name, options), keep: async () => null };
  const before = forgetFirst ? null : await keptBlurOf(camera);
  const { method, memory } = rememberingFocus(before);
  return {
    method,
    async keep() {
      const { kept, isForgotten } = memory;
      const isKept = kept === before && !forgetFirst ? true : await keepBlurOf(camera, kept);
      return { before, after: kept, isForgotten, isKept };
    },
  };
}
