import { type LedgerRow, shareStd } from '../../base/index.js';
import type { FocusMethodScore, FocusStrategyPrediction, Station } from '../../station/index.js';
import { inWords, percent } from '../words.js';

const limitTexts: Record<FocusStrategyPrediction['limitedBy'], { why: string; remedy: string }> = {
  noise: {
    why: 'noise decides',
    remedy: 'give it more light or a longer exposure, or a larger region: noise decides',
  },
  repeatability: {
    why: 'the lens’s repeatability decides',
    remedy: 'close the aperture, or take a lens that comes back to its power more closely: the light would do',
  },
  'control-step': {
    why: 'the lens’s control step decides',
    remedy: 'close the aperture, or take a driver with a finer step: the light would do',
  },
};

/** Share of runs that have to end in focus; common practice, no source. */
const shareWanted = 0.95;

/** Rows of a focus strategy: what is predicted, what limits it, and how the methods did on the simulated station. */
export function focusStrategyRows({
  station,
  prediction,
  methods,
}: {
  station: Station;
  prediction: FocusStrategyPrediction | null;
  methods: readonly FocusMethodScore[];
}): LedgerRow[] {
  if (prediction === null) {
    return [
      {
        ...plain('focus.inside', 'Autofocus ends inside the depth of field', ''),
        verdict: 'unknown',
        reason: 'no plane of the task can be focused',
        remedy: 'see the rows on reach in the plan',
        basis: 'planStation',
      },
    ];
  }
  return [insideRow(prediction), ...timeRow(station, prediction, methods), ...methods.map(methodRow)];
}

const plain = (key: string, title: string, unit: string) => ({
  key,
  title,
  unit,
  required: null,
  predicted: null,
  measured: null,
});

function insideRow({
  own,
  ownLevelDn,
  limitedBy,
  workingDistanceMm,
  halfWidthDpt,
}: FocusStrategyPrediction): LedgerRow {
  const { why, remedy } = limitTexts[limitedBy];
  const verdict = own.insideProbability >= shareWanted ? 'meets' : own.insideProbability >= 0.8 ? 'marginal' : 'fails';
  return {
    ...plain('focus.inside', 'Autofocus ends inside the depth of field', ''),
    required: { min: shareWanted, max: null },
    predicted: { value: own.insideProbability, std: null, note: 'a bound: no search does better' },
    verdict,
    reason: `at ${inWords(workingDistanceMm, 'mm')} and a mean of ${inWords(ownLevelDn)} grey levels ${percent(own.insideProbability)} end within ±${inWords(halfWidthDpt, 'dpt', 2)}; ${why}`,
    remedy: verdict === 'meets' ? null : remedy,
    basis:
      'Cramér–Rao bound of three probes for an unknown scene with the task’s texture, then repeatability and control step; 95 % wanted: common practice, no source.',
  };
}

function timeRow(
  station: Station,
  { timeMs }: FocusStrategyPrediction,
  methods: readonly FocusMethodScore[],
): LedgerRow[] {
  if (timeMs === null) return [];
  const quickest = [...methods].sort((a, b) => a.timeMedianMs - b.timeMedianMs)[0];
  const allowedMs = station.task.cycleTimeMs;
  const tried = quickest
    ? `; quickest on the simulated station: ${quickest.method}, ${inWords(quickest.timeMedianMs, 'ms')}`
    : '';
  return [
    {
      ...plain('focus.time', 'Time of one autofocus', 'ms'),
      required: { min: null, max: allowedMs },
      predicted: { value: timeMs, std: null, note: 'three probes and a confirming frame' },
      measured: quickest
        ? { value: quickest.timeMedianMs, std: null, note: 'simulated: median of the quickest method' }
        : null,
      verdict: timeMs <= allowedMs ? 'meets' : 'fails',
      reason: `three probes and a confirming frame take ${inWords(timeMs, 'ms')} of the ${inWords(allowedMs, 'ms')} for one part${tried}`,
      remedy:
        timeMs <= allowedMs
          ? null
          : 'focus once for many parts, or take a lens that settles faster or a shorter readout',
      basis: 'Settling of the second-order step response with dead time, exposure and readout of every frame.',
    },
  ];
}

function methodRow(score: FocusMethodScore): LedgerRow {
  const { method, sceneCount, rightCount, refusedCount, medianFrameCount, ninetyFifthFrameCount, timeMedianMs } = score;
  const share = rightCount / sceneCount;
  const wrongCount = sceneCount - rightCount - refusedCount;
  return {
    ...plain(`focus.method.${method}`, `Search ${method} on the simulated station`, ''),
    required: { min: shareWanted, max: null },
    measured: {
      value: share,
      std: shareStd({ count: rightCount, ofCount: sceneCount }),
      note: 'simulated; share of scenes in focus',
    },
    verdict: share >= shareWanted ? 'meets' : 'fails',
    reason: `${rightCount} of ${sceneCount} scenes in focus, ${wrongCount} wrong, ${refusedCount} refused; ${medianFrameCount} frames (95 %: ${ninetyFifthFrameCount}), ${inWords(timeMedianMs, 'ms')}`,
    remedy: share >= shareWanted ? null : 'see the share by light: choose another search, or more light',
    basis:
      'Seeded scenes of the rehearsal at distances of the task, at six levels of light, with build errors within tolerance; right: within half of the depth-of-field half-width of the true best focus.',
  };
}
