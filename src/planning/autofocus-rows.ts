import type { AutofocusPrediction } from '../station/index.js';
import { coverageFactor } from './focus-rows.js';
import type { PlannedPlane } from './planned-plane.js';
import { comparedRow, type PlanRow } from './verdict.js';
import { inWords, percent } from './words.js';

/** Row of the predicted autofocus: does it end inside the depth of field, where that is hardest? */
export function autofocusRows({
  autofocus,
  planes,
}: {
  autofocus: AutofocusPrediction | null;
  planes: readonly PlannedPlane[];
}): PlanRow[] {
  const plane = planes.find(({ prediction }) => prediction.name === autofocus?.plane);
  const probes = autofocus?.searches.find(({ name }) => name === 'three-probes');
  if (!autofocus || !probes || !plane) return [];
  const sweep = autofocus.searches.find(({ name }) => name === 'sweep');
  const at = inWords(autofocus.workingDistanceMm, 'mm');
  const time = probes.timeMs === null ? '' : ` in ${inWords(probes.timeMs, 'ms')}`;
  const sweepTime = sweep?.timeMs ? ` A sweep of nine frames takes ${inWords(sweep.timeMs, 'ms')}.` : '';
  return [
    comparedRow({
      key: 'autofocus.spread',
      title: 'Autofocus against depth of field, where it is hardest',
      unit: 'dpt',
      value: coverageFactor * probes.finalStdDpt,
      required: { min: null, max: plane.allowedHalfWidthDpt },
      reason:
        `at ${at} three probes and a confirming frame${time} tell best focus to ±${inWords(probes.boundStdDpt, 'dpt', 2)} at best (1 σ); with the lens’s ` +
        `repeatability ±${inWords(probes.finalStdDpt, 'dpt', 2)}, so ${percent(probes.insideProbability)} end inside the ±${inWords(plane.allowedHalfWidthDpt, 'dpt', 2)} of depth of field by the task’s contrast.${sweepTime}`,
      remedy: () =>
        probes.boundStdDpt > probes.finalStdDpt / 2
          ? 'give it more light or a longer exposure: noise decides'
          : 'close the aperture, or take a lens of better repeatability: the light would do',
      wishes: () =>
        probes.boundStdDpt > probes.finalStdDpt / 2
          ? [
              { dial: 'exposureMs', direction: 'up', by: 'autofocus' },
              { dial: 'light', direction: 'up', by: 'autofocus' },
            ]
          : [{ dial: 'fNumber', direction: 'up', by: 'autofocus' }],
      basis: `Cramér–Rao bound for an unknown scene in a region of ${autofocus.regionPx} × ${autofocus.regionPx} pixels: texture by task.texture, contrast-to-noise ratio ${inWords(autofocus.contrastToNoiseRatio)} in one pixel; then repeatability and control step of the last move.`,
    }),
  ];
}
