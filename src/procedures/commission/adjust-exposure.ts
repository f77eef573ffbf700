import { saturationLevelDn } from '../../station/index.js';
import { focusHalfWidthDpt, requirePredictedPowerDpt } from '../focus-half-width.js';
import { moveLens } from '../move-lens.js';
import type { Run } from '../run-context.js';
import { brightLevelDn, greyHistogram } from '../sweep/grey-histogram.js';
import { centreHalf, settleFraction } from '../sweep/run.js';
import { takeFrame } from '../take-frame.js';
import { nextExposureMs } from './exposure.js';

const mostTries = 5;
/** Share of the brightest pixels that are taken for highlights. */
const highlightShare = 0.01;

/**
 * Sets the station's exposure, looks at one frame near the predicted focus, and adjusts it where that is too bright or dark.
 *
 * Returns  the exposure in use, in ms, as the camera set it. Recorded frames keep theirs, null where it is not told, and
 *          none is looked at.
 * Throws   `cancelled`, or what the camera throws.
 */
export async function adjustExposure(
  run: Run,
  { workingDistanceMm }: { workingDistanceMm: number },
): Promise<number | null> {
  const { station, bench } = run;
  const { camera } = bench;
  const limits = await camera.capabilities();
  const halfWidthDpt = focusHalfWidthDpt({ station, workingDistanceMm });
  const wantedDpt = requirePredictedPowerDpt({ station, workingDistanceMm });
  let exposureMs = await camera.setExposure({ exposureMs: station.controls.exposureMs });
  if (limits.powersDpt) return exposureMs;
  const focalPowerDpt = Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, wantedDpt));
  const commandedDpt = await moveLens(run, { focalPowerDpt, settleToDpt: settleFraction * halfWidthDpt });
  for (let tries = 1; ; tries++) {
    const { frame } = await takeFrame(run, {
      workingDistanceMm,
      commandedDpt,
      nearEnoughDpt: halfWidthDpt / 4,
      purpose: 'identify',
    });
    const { image } = frame;
    const { sensor } = station.parts;
    const next = nextExposureMs({
      brightDn: brightLevelDn(greyHistogram(image, centreHalf(image)), highlightShare),
      blackDn: sensor.blackLevelDn * 2 ** (image.bitDepth - sensor.bitDepth),
      saturationDn: saturationLevelDn({ sensor, bitDepth: image.bitDepth }),
      exposureMs: frame.exposureMs ?? exposureMs ?? station.controls.exposureMs,
      limits,
    });
    if (next === null || tries === mostTries) return frame.exposureMs ?? exposureMs;
    exposureMs = await camera.setExposure({ exposureMs: next });
  }
}
