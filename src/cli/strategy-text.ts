import { formatNumber, sharePercent } from '../report/index.js';
import type { FocusStrategyRecord } from '../station/index.js';
import { ledgerLine, textTable } from './output.js';

/** A focus strategy as a page of text. */
export function strategyText({
  station,
  invented,
  seed,
  sceneCount,
  prediction,
  methods,
  ledger,
}: FocusStrategyRecord): string {
  const levels = prediction?.byLight ?? [];
  const table = textTable([
    [
      'search',
      'frames (95 %)',
      'time ms (95 %)',
      'in focus',
      'refused',
      ...levels.map(({ meanLevelDn }) => `at ${formatNumber(meanLevelDn)}`),
    ],
    [
      'predicted bound',
      '4',
      prediction?.timeMs?.toFixed(0) ?? '–',
      prediction ? sharePercent(prediction.own.insideProbability) : '–',
      '',
      ...levels.map(({ insideProbability }) => sharePercent(insideProbability)),
    ],
    ...methods.map((score) => [
      score.method,
      `${score.medianFrameCount} (${score.ninetyFifthFrameCount})`,
      `${score.timeMedianMs.toFixed(0)} (${score.timeNinetyFifthMs.toFixed(0)})`,
      sharePercent(score.rightCount / score.sceneCount),
      String(score.refusedCount),
      ...levels.map(({ meanLevelDn }) => {
        const at = score.byLight.find((entry) => entry.meanLevelDn === meanLevelDn);
        return at ? sharePercent(at.rightCount / at.sceneCount) : '–';
      }),
    ]),
  ]);
  const tried = sceneCount === 0 ? 'prediction alone' : `${sceneCount} simulated scenes, seed ${seed}`;
  return [
    `${station}${invented ? ' (invented demonstration data)' : ''}: ${tried}`,
    '',
    table,
    '“at 8”: share in focus at a mean of 8 grey levels of 255.',
    '',
    ...ledger.map(ledgerLine),
  ].join('\n');
}
