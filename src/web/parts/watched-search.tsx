import { type ReactNode, useCallback, useEffect, useState } from 'react';
import { counted } from '../../base/index.js';
import { type FigureSize, focusSearchFigure, formatFixed } from '../../report/index.js';
import type { FocusMethodName } from '../../station/index.js';
import type { WatchedFocus } from '../state/focus-run.js';
import { FigureView } from './figure-view.js';

/**
 * The frames of one search as they come, with the curve and what is believed after each; afterwards any of them again. Beside
 * the curve, where there is room: `children`.
 */
export function WatchedSearch({
  method,
  seen,
  simulated,
  children,
}: {
  method: FocusMethodName;
  seen: WatchedFocus;
  simulated: boolean;
  children: ReactNode;
}) {
  const { frames, result, ended, powerMinDpt, powerMaxDpt } = seen;
  const [chosen, setChosen] = useState<number | null>(null);
  const isRunning = result === null && ended === null;
  useEffect(() => {
    if (isRunning) setChosen(null);
  }, [isRunning]);
  const upTo = Math.min(frames.length, chosen ?? frames.length);
  const draw = useCallback(
    (size: FigureSize) =>
      focusSearchFigure(
        {
          method,
          probes: frames.slice(0, upTo).map(({ probe }) => probe),
          posterior: frames[upTo - 1]?.posterior ?? null,
          powerMinDpt,
          powerMaxDpt,
          result: upTo < frames.length ? null : result,
        },
        size,
      ),
    [method, result, frames, upTo, powerMinDpt, powerMaxDpt],
  );
  return (
    <>
      <div className="search-bench">
        {children}
        <FigureView draw={draw} aspect={0.72} simulated={simulated} />
      </div>
      {result && <SearchEnd result={result} lensDpt={ended?.lensDpt ?? null} />}
      {frames.length > 1 && !isRunning && (
        <label className="frame-slider">
          After frame {upTo} of {frames.length}{' '}
          <input
            type="range"
            min={1}
            max={frames.length}
            value={upTo}
            onChange={(event) => setChosen(Number(event.target.value))}
          />
        </label>
      )}
      <ol className="frame-strip" aria-label="Frames in their order">
        {frames.slice(0, upTo).map(({ picture, probe }, i) => (
          <li key={probe.exposedAtMs}>
            <img src={picture.dataUri} alt="" />
            <span>
              {i + 1}: {formatFixed(probe.focalPowerDpt, 3)} dpt
              {probe.role === 'confirm' && ' (confirms)'}
            </span>
          </li>
        ))}
      </ol>
    </>
  );
}

function SearchEnd({ result, lensDpt }: { result: NonNullable<WatchedFocus['result']>; lensDpt: number | null }) {
  const lens = lensDpt === null ? '' : ` at ${formatFixed(lensDpt, 3)} dpt`;
  if (result.kind === 'refused') {
    return (
      <p role="alert">
        Refused: {result.message} {result.remedy} The lens is parked{lens}.
      </p>
    );
  }
  const { probabilityInFocus, confirmation, approachedFrom } = result;
  return (
    <p>
      {counted(result.frames, 'frame')}, {result.elapsedMs.toFixed(0)} ms on the camera’s clock
      {probabilityInFocus !== null &&
        `; inside half of the depth of field (contrast at 0.25 cycles/px at 80 % of its best) with a probability of ${formatFixed(100 * probabilityInFocus, 1)} %`}
      {confirmation !== null &&
        `; the last frame shows ${formatFixed((100 * confirmation.measured) / confirmation.predicted, 0)} % of the sharpness to be expected`}
      . The lens stays{lens}, reached from {approachedFrom}.
    </p>
  );
}
