import {
  type RingBlurTable,
  type RingSpectrometer,
  ringBlurTable,
  ringSpectrometerFast,
  type SceneLikelihood,
  sceneLikelihoodFast,
} from '../../../image/index.js';

/** What searches over regions of one size with one cutoff share: tables that take longer to fill than a frame to judge. */
export interface FocusWorkspace {
  spectrometer: RingSpectrometer;
  likelihood: SceneLikelihood;
  table: RingBlurTable;
}

const kept = new Map<string, FocusWorkspace>();
const spectrometers = new Map<string, RingSpectrometer>();
/** The whole and the quarters of a few regions. */
const mostKept = 8;
/** Largest blur is rounded up to a power of this, so that like optics share a table. */
const blurStep = 1.25;

/** The workspace for regions of a size, made where there is none yet. */
export function focusWorkspace({
  widthPx,
  heightPx,
  cutoffPerPx,
  mostBlurPx,
}: {
  widthPx: number;
  heightPx: number;
  cutoffPerPx: number;
  mostBlurPx: number;
}): FocusWorkspace {
  const maxBlurRadiusPx = blurStep ** Math.ceil(Math.log(mostBlurPx) / Math.log(blurStep));
  const key = [widthPx, heightPx, cutoffPerPx, maxBlurRadiusPx].join(' ');
  const found = kept.get(key);
  if (found) {
    kept.delete(key);
    kept.set(key, found);
    return found;
  }
  // Sizes are few, cutoffs are not.
  const size = [widthPx, heightPx].join(' ');
  const spectrometer = spectrometers.get(size) ?? ringSpectrometerFast({ widthPx, heightPx });
  spectrometers.set(size, spectrometer);
  const { rings } = spectrometer;
  const made = {
    spectrometer,
    likelihood: sceneLikelihoodFast(rings),
    table: ringBlurTable({ rings, cutoffPerPx, maxBlurRadiusPx }),
  };
  kept.set(key, made);
  if (kept.size > mostKept) kept.delete(kept.keys().next().value!);
  return made;
}
