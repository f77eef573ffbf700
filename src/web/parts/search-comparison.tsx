import { formatFixed } from '../../report/index.js';
import type { TriedFocus } from '../state/use-focus-runs.js';

/** The ways to look side by side, on the same camera and region. */
export function SearchComparison({
  tried,
  shown,
  onShow,
}: {
  tried: readonly TriedFocus[];
  shown: number;
  onShow: (index: number) => void;
}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls sideways has to be reached by the keyboard
    <section className="table-scroll" tabIndex={0} aria-label="Comparison of the ways to look">
      <table>
        <thead>
          <tr>
            <th scope="col">Way to look</th>
            <th scope="col">Best focus, dpt</th>
            <th scope="col">Frames</th>
            <th scope="col">Time, ms</th>
            <th scope="col" className="text-cell">
              Answer
            </th>
            <th scope="col">Frames below</th>
          </tr>
        </thead>
        <tbody>
          {tried.map(({ request: { method }, seen: { result, ended, frames } }, i) => (
            <tr key={method}>
              <th scope="row">{method}</th>
              <td>
                {result?.kind === 'found'
                  ? `${formatFixed(result.focalPowerDpt, 3)} ± ${formatFixed(result.focalPowerStdDpt, 3)}`
                  : '–'}
              </td>
              <td>{result?.frames ?? frames.length}</td>
              <td>{result?.elapsedMs.toFixed(0) ?? '–'}</td>
              <td className="text-cell">{answerOf(result, ended)}</td>
              <td>
                <button type="button" aria-pressed={i === shown} onClick={() => onShow(i)}>
                  {i === shown ? 'shown' : 'show'}
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function answerOf(result: TriedFocus['seen']['result'], ended: TriedFocus['seen']['ended']): string {
  if (result) return result.kind === 'found' ? 'found' : `refused: ${result.reason}`;
  return ended ? ended.state : 'looking …';
}
