import { useCallback, useEffect, useState } from 'react';
import type { Region } from '../../image/index.js';
import type { FocusPicture, FocusSearchAnswer } from '../../protocol/index.js';
import { type FigureSize, focusSearchFigure, formatFixed } from '../../report/index.js';
import { type AutofocusResult, type FocusMethodName, focusMethodNames, type Station } from '../../station/index.js';
import { FigureView } from '../parts/figure-view.js';
import { RegionPicture } from '../parts/region-picture.js';
import { ServerError, server } from '../state/server.js';

/** A search that was run, with what it was run on. */
interface Tried {
  method: FocusMethodName;
  region: Region;
  workingDistanceMm: number;
  answer: Omit<FocusSearchAnswer, 'result'> & { result: AutofocusResult };
}

/** A search for focus on the simulated camera: choose the region, run it, watch its frames, compare the ways to look. */
export function AutofocusSection({ station, yaml }: { station: Station; yaml: string }) {
  const { nearMm, farMm } = station.task;
  const [distanceMm, setDistanceMm] = useState(Math.round((nearMm + farMm) / 2));
  const [seed, setSeed] = useState(station.rehearsal.seed);
  const [method, setMethod] = useState<FocusMethodName>('model');
  const [picture, setPicture] = useState<FocusPicture | null>(null);
  const [region, setRegion] = useState<Region | null>(null);
  const [tried, setTried] = useState<Tried[]>([]);
  const [shown, setShown] = useState(0);
  const [busy, setBusy] = useState<string | null>(null);
  const [trouble, setTrouble] = useState<string | null>(null);
  const fail = useCallback((error: unknown) => {
    if (!(error instanceof ServerError)) throw error;
    setTrouble(`${error.message} ${error.remedy}`);
  }, []);
  useEffect(() => {
    let current = true;
    setTrouble(null);
    server.focusScene({ yaml, seed, workingDistanceMm: distanceMm }).then((seen) => {
      if (!current) return;
      setPicture(seen);
      setRegion((before) => (before && fits(before, seen) ? before : middleOf(seen)));
    }, fail);
    return () => {
      current = false;
    };
  }, [yaml, seed, distanceMm, fail]);
  const run = async (methods: readonly FocusMethodName[]) => {
    if (!region) return;
    setTrouble(null);
    setTried([]);
    try {
      for (const name of methods) {
        setBusy(`${name} is looking …`);
        const answer = await server.focusSearch({ yaml, seed, workingDistanceMm: distanceMm, method: name, region });
        const done = answer as unknown as Tried['answer'];
        setTried((before) => [...before, { method: name, region, workingDistanceMm: distanceMm, answer: done }]);
        setShown(methods.indexOf(name));
      }
    } catch (error) {
      fail(error);
    } finally {
      setBusy(null);
    }
  };
  return (
    <section aria-label="Search for focus" className="focus-search">
      <p>
        Try it on the simulated camera: place the target, drag the region onto what has to be sharp, and watch what each
        frame tells. Its build errors are hidden, as on a real station.
      </p>
      <div className="toolbar">
        <label>
          Target at{' '}
          <input
            type="number"
            value={distanceMm}
            min={1}
            onChange={(event) => event.target.value !== '' && setDistanceMm(Math.max(1, Number(event.target.value)))}
          />{' '}
          <span className="unit">mm</span>
        </label>
        <label>
          Seed{' '}
          <input
            className="seed-field"
            type="number"
            min={0}
            value={seed}
            onChange={(event) => setSeed(Math.max(0, Math.floor(Number(event.target.value))))}
          />
        </label>
        <label>
          Way to look{' '}
          <select value={method} onChange={(event) => setMethod(event.target.value as FocusMethodName)}>
            {focusMethodNames.map((name) => (
              <option key={name}>{name}</option>
            ))}
          </select>
        </label>
        <button
          type="button"
          className="primary"
          disabled={busy !== null || !region}
          onClick={() => void run([method])}
        >
          Find focus
        </button>
        <button type="button" disabled={busy !== null || !region} onClick={() => void run(focusMethodNames)}>
          Compare all ways
        </button>
      </div>
      {busy && <p role="status">{busy}</p>}
      {trouble && <p role="alert">{trouble}</p>}
      {picture && region ? (
        <RegionPicture widthPx={picture.widthPx} heightPx={picture.heightPx} region={region} onChange={setRegion}>
          <img src={picture.dataUri} alt="What the simulated camera sees with its lens parked" draggable={false} />
        </RegionPicture>
      ) : (
        !trouble && <p className="soft">The simulated camera takes a frame …</p>
      )}
      {tried.length > 1 && <Comparison tried={tried} shown={shown} onShow={setShown} />}
      {tried[shown] && <Watched key={`${shown}-${tried.length}`} search={tried[shown]} />}
    </section>
  );
}

const fits = (region: Region, { widthPx, heightPx }: FocusPicture): boolean =>
  region.xPx + region.widthPx <= widthPx && region.yPx + region.heightPx <= heightPx;

function middleOf({ widthPx, heightPx }: FocusPicture): Region {
  const [width, height] = [Math.min(256, widthPx), Math.min(256, heightPx)];
  return { xPx: (widthPx - width) >> 1, yPx: (heightPx - height) >> 1, widthPx: width, heightPx: height };
}

/** The frames of one search, one after the other, with the curve and what was believed after each. */
function Watched({ search: { method, answer } }: { search: Tried }) {
  const { result, frames, powerMinDpt, powerMaxDpt } = answer;
  const [upTo, setUpTo] = useState(frames.length);
  const draw = useCallback(
    (size: FigureSize) =>
      focusSearchFigure(
        {
          method,
          probes: result.probes.slice(0, upTo),
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
      <FigureView draw={draw} aspect={0.42} simulated />
      {result.kind === 'refused' ? (
        <p role="alert">
          Refused: {result.message} {result.remedy}
        </p>
      ) : (
        <p>
          {result.frames} frames, {result.elapsedMs.toFixed(0)} ms on the station’s clock
          {result.probabilityInFocus !== null &&
            `; in focus with a probability of ${formatFixed(100 * result.probabilityInFocus, 1)} %`}
          . The lens came from {result.approachedFrom}.
        </p>
      )}
      {frames.length > 1 && (
        <label className="frame-slider">
          After frame {upTo} of {frames.length}{' '}
          <input
            type="range"
            min={1}
            max={frames.length}
            value={upTo}
            onChange={(event) => setUpTo(Number(event.target.value))}
          />
        </label>
      )}
      <ol className="frame-strip" aria-label="Frames in their order">
        {frames.slice(0, upTo).map(({ picture }, i) => {
          const probe = result.probes[i];
          return (
            <li key={probe?.exposedAtMs ?? picture.dataUri}>
              <img src={picture.dataUri} alt="" />
              <span>
                {i + 1}: {probe ? `${formatFixed(probe.focalPowerDpt, 3)} dpt` : ''}
                {probe?.role === 'confirm' && ' (confirms)'}
              </span>
            </li>
          );
        })}
      </ol>
    </>
  );
}

function Comparison({
  tried,
  shown,
  onShow,
}: {
  tried: readonly Tried[];
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
            <th scope="col">Answer</th>
            <th scope="col">Frames below</th>
          </tr>
        </thead>
        <tbody>
          {tried.map(({ method, answer: { result } }, i) => (
            <tr key={method}>
              <th scope="row">{method}</th>
              <td>
                {result.kind === 'found'
                  ? `${formatFixed(result.focalPowerDpt, 3)} ± ${formatFixed(result.focalPowerStdDpt, 3)}`
                  : '–'}
              </td>
              <td>{result.frames}</td>
              <td>{result.elapsedMs.toFixed(0)}</td>
              <td>{result.kind === 'found' ? 'found' : `refused: ${result.reason}`}</td>
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
