import { useCallback, useEffect, useState } from 'react';
import { Link } from 'wouter';
import type { Region } from '../../image/index.js';
import type { FocusPicture, OpenedCamera } from '../../protocol/index.js';
import { type FocusMethodName, focusMethodNames, type Station } from '../../station/index.js';
import { PartsRun } from '../parts/parts-run.js';
import { RegionPicture } from '../parts/region-picture.js';
import { SearchComparison } from '../parts/search-comparison.js';
import { WatchedSearch } from '../parts/watched-search.js';
import { ServerError, server } from '../state/server.js';
import { useFocusRuns } from '../state/use-focus-runs.js';

/** Smallest side that every way to look takes. */
const leastRegionPx = 64;

/** A search for focus: choose camera and region, run it, watch its frames, compare the ways to look, follow parts. */
export function AutofocusSection({ station, yaml }: { station: Station; yaml: string }) {
  const { nearMm, farMm } = station.task;
  const [camera, setCamera] = useState<'simulated' | 'live'>('simulated');
  const [opened, setOpened] = useState<OpenedCamera | null>(null);
  const [distanceMm, setDistanceMm] = useState(Math.round((nearMm + farMm) / 2));
  const [seed, setSeed] = useState(station.rehearsal.seed);
  const [method, setMethod] = useState<FocusMethodName>('model');
  const [picture, setPicture] = useState<FocusPicture | null>(null);
  const [region, setRegion] = useState<Region | null>(null);
  const [isByTexture, setIsByTexture] = useState(false);
  const [shown, setShown] = useState<number | null>(null);
  const [partsBusy, setPartsBusy] = useState(false);
  const runs = useFocusRuns(setRegion);
  const { tried, running, trouble, setTrouble, cancel } = runs;

  useEffect(() => {
    server.camera().then(setOpened, () => setOpened(null));
  }, []);
  const isLive = camera === 'live';
  const look = useCallback(() => {
    let current = true;
    setTrouble(null);
    server.focusScene({ camera, yaml, seed, workingDistanceMm: distanceMm }).then(
      (seen) => {
        if (!current) return;
        setPicture(seen);
        setRegion((before) => (before && fits(before, seen) ? before : middleOf(seen)));
      },
      (error: unknown) => {
        if (!(error instanceof ServerError)) throw error;
        if (current) setTrouble(`${error.message} ${error.remedy}`);
      },
    );
    return () => {
      current = false;
    };
  }, [camera, yaml, seed, distanceMm, setTrouble]);
  useEffect(look, [look]);

  const on = { camera, yaml, seed, workingDistanceMm: distanceMm };
  const wanted = isByTexture ? ('texture' as const) : region;
  const run = (methods: readonly FocusMethodName[]) => {
    if (!wanted) return;
    setShown(null);
    void runs.begin(methods.map((name) => ({ ...on, method: name, region: wanted })));
  };
  const isBusy = running !== null || partsBusy;
  const index = Math.min(shown ?? tried.length - 1, tried.length - 1);
  const watched = tried[index];
  const regionPicture = picture && region && (
    <RegionPicture
      widthPx={picture.widthPx}
      heightPx={picture.heightPx}
      leastPx={leastRegionPx}
      region={region}
      onChange={(changed) => {
        setIsByTexture(false);
        setRegion(changed);
      }}
    >
      <img src={picture.dataUri} alt="What the camera sees" draggable={false} />
    </RegionPicture>
  );
  return (
    <>
      <section aria-label="Search for focus" className="focus-search">
        <p>
          {isLive
            ? 'On the camera that is connected: drag the region onto what has to be sharp. The lens moves within the limits of lens and station; it stays where focus was found.'
            : 'Try it on the simulated camera: place the target, drag the region onto what has to be sharp, and watch what each frame tells. Its build errors are hidden, as on a real station.'}
        </p>
        <div className="toolbar">
          <label>
            Camera{' '}
            <select
              value={camera}
              disabled={isBusy}
              onChange={(event) => setCamera(event.target.value as 'simulated' | 'live')}
            >
              <option value="simulated">simulated station</option>
              <option value="live" disabled={!opened}>
                {opened ? `connected: ${opened.model}` : 'connected camera: none'}
              </option>
            </select>
          </label>
          {isLive ? (
            <button type="button" disabled={isBusy} onClick={() => look()}>
              Look again
            </button>
          ) : (
            <>
              <label>
                Target at{' '}
                <input
                  type="number"
                  value={distanceMm}
                  min={1}
                  disabled={isBusy}
                  onChange={(event) =>
                    event.target.value !== '' && setDistanceMm(Math.max(1, Number(event.target.value)))
                  }
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
                  disabled={isBusy}
                  onChange={(event) => setSeed(Math.max(0, Math.floor(Number(event.target.value))))}
                />
              </label>
            </>
          )}
          <label>
            Way to look{' '}
            <select value={method} onChange={(event) => setMethod(event.target.value as FocusMethodName)}>
              {focusMethodNames.map((name) => (
                <option key={name}>{name}</option>
              ))}
            </select>
          </label>
          <label>
            <input type="checkbox" checked={isByTexture} onChange={(event) => setIsByTexture(event.target.checked)} />{' '}
            Region by texture
          </label>
        </div>
        <div className="toolbar">
          <button type="button" className="primary" disabled={isBusy || !wanted} onClick={() => run([method])}>
            Find focus
          </button>
          <button type="button" disabled={isBusy || !wanted} onClick={() => run(focusMethodNames)}>
            Compare all ways
          </button>
          {running !== null && (
            <button type="button" onClick={cancel}>
              Cancel
            </button>
          )}
          {running !== null && <span role="status">{running} is looking …</span>}
        </div>
        {!isLive && !opened && (
          <p className="soft">
            To search on a real camera, <Link href="/connect">connect it</Link> first.
          </p>
        )}
        {trouble && <p role="alert">{trouble}</p>}
        {tried.length > 1 && <SearchComparison tried={tried} shown={index} onShow={setShown} />}
        {watched ? (
          <WatchedSearch
            key={watched.request.method}
            method={watched.request.method}
            seen={watched.seen}
            simulated={!isLive || opened?.simulated === true}
          >
            {regionPicture}
          </WatchedSearch>
        ) : (
          (regionPicture ?? (!trouble && <p className="soft">The camera takes a frame …</p>))
        )}
      </section>
      <PartsRun
        station={station}
        on={on}
        method={method}
        region={wanted}
        isBlocked={running !== null}
        onBusy={setPartsBusy}
      />
    </>
  );
}

const fits = (region: Region, { widthPx, heightPx }: FocusPicture): boolean =>
  region.xPx + region.widthPx <= widthPx && region.yPx + region.heightPx <= heightPx;

function middleOf({ widthPx, heightPx }: FocusPicture): Region {
  const [width, height] = [Math.min(256, widthPx), Math.min(256, heightPx)];
  return { xPx: (widthPx - width) >> 1, yPx: (heightPx - height) >> 1, widthPx: width, heightPx: height };
}
