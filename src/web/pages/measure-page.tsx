import { type DragEvent, useEffect, useMemo, useState } from 'react';
import { Link } from 'wouter';
import { type Region, regionInWords } from '../../image/index.js';
import type { Station } from '../../station/index.js';
import { FrameChooser, fileSource } from '../measure/frame-chooser.js';
import { FrameView } from '../measure/frame-view.js';
import { MeasureFields } from '../measure/measure-fields.js';
import { measureFinding } from '../measure/measure-figure.js';
import { measureRows } from '../measure/measure-rows.js';
import { orderOf } from '../measure/measure-values.js';
import { MeasuredView } from '../measure/measured-view.js';
import { predictFrame } from '../measure/prediction.js';
import { Ledger } from '../parts/ledger.js';
import { type ChosenFrame, useMeasure } from '../state/measure-state.js';

/** Measures on one frame: the camera's newest, a stored one, or a file. */
export function MeasurePage({ station }: { station: Station }) {
  const state = useMeasure();
  const { frames, region, what, values, busy, measured, trouble, kept, open, setRegion, measure, cancel } = state;
  const { first: frame, second } = frames;
  const about = usePrediction(station);
  const ready = useMemo(() => orderOf(what, { values, region, about }), [what, values, region, about]);
  const [isOver, setOver] = useState(false);
  const drop = (event: DragEvent) => {
    event.preventDefault();
    setOver(false);
    const file = event.dataTransfer.files[0];
    if (file && busy === null) void open('first', fileSource(file));
  };
  const takesRegion = what !== 'grid';
  const lacksSecond = what === 'noise' && second === null;
  return (
    <section
      className={isOver ? 'measure-page is-dropping' : 'measure-page'}
      aria-label="Measure a frame"
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={drop}
    >
      <h1>{(measured && measureFinding(measured.outcome)) ?? 'Measure a frame'}</h1>
      <p className="soft">
        <Link href="/resolution">Back to the resolution check</Link>. Everything is computed in this page; a file does
        not leave it.
      </p>
      <FrameChooser slot="first" frame={frame} />
      {what === 'noise' && <FrameChooser slot="second" frame={second} />}
      <MeasureFields about={about} />
      {frame && takesRegion && <RegionFields frame={frame} region={region} onRegion={setRegion} />}
      {!takesRegion && (
        <p className="soft">The grid is looked for in the whole frame: distortion is told from its middle.</p>
      )}
      <div className="toolbar">
        <button
          type="button"
          className="primary"
          disabled={!frame || busy !== null || ready.kind === 'problem' || lacksSecond}
          onClick={() => ready.kind === 'order' && void measure(ready.order)}
        >
          Measure
        </button>
        <button type="button" disabled={busy === null} onClick={cancel}>
          Cancel
        </button>
        {busy && <Working busy={busy} />}
        {lacksSecond && frame && <span className="soft">Choose the second frame first.</span>}
      </div>
      {ready.kind === 'problem' && <p role="alert">{ready.problem}</p>}
      {trouble && (
        <p role="alert">
          {trouble.message} {trouble.remedy}
        </p>
      )}
      {frame ? (
        <div className="measure-row">
          <FrameView
            frame={frame}
            region={takesRegion ? region : null}
            marks={measured?.frame === frame ? measured.outcome.marks : []}
            onRegion={setRegion}
          />
          {measured && <MeasuredView measured={measured} about={about} softwareVersion={kept?.softwareVersion ?? ''} />}
        </div>
      ) : (
        <p className="empty">
          No frame yet. Take the newest of the camera, choose a stored one, open a file, or drop a PNG or TIFF file
          here.
        </p>
      )}
    </section>
  );
}

/** What was measured on the frame, beside what the station predicts for it. */
export function MeasureLedger({ station }: { station: Station }) {
  const { measured } = useMeasure();
  const about = usePrediction(station);
  const rows = measured ? measureRows(measured.outcome, { about, bitDepth: measured.frame.bitDepth }) : [];
  const note =
    rows.length > 0 ? (
      <p className="soft">
        Predicted for a target at {about.place.workingDistanceMm} mm by the station as it stands in the page
        {about.magnification === null && '; no power focuses this distance, so little is predicted'}.
      </p>
    ) : (
      <p className="soft">
        {measured
          ? 'Nothing was measured: see why, and what to do.'
          : 'Nothing measured yet: choose a frame, a region and what to measure.'}
      </p>
    );
  const simulated = measured?.frame.origin.simulated ? ', simulated' : '';
  return <Ledger title={`Measured on the frame${simulated}`} rows={rows} note={note} />;
}

/** The prediction for where the frame was taken, as far as it or the person says. */
function usePrediction(station: Station) {
  const { frames, place } = useMeasure();
  const origin = frames.first?.origin;
  const { nearMm, farMm } = station.task;
  const workingDistanceMm = place?.workingDistanceMm ?? origin?.workingDistanceMm ?? (nearMm + farMm) / 2;
  const offBestFocusDpt = place?.offBestFocusDpt ?? origin?.offBestFocusDpt ?? 0;
  return useMemo(
    () => predictFrame(station, { workingDistanceMm, offBestFocusDpt }),
    [station, workingDistanceMm, offBestFocusDpt],
  );
}

/** The region in numbers, for the exact and for the keyboard. */
function RegionFields({
  frame,
  region,
  onRegion,
}: {
  frame: ChosenFrame;
  region: Region | null;
  onRegion: (region: Region | null) => void;
}) {
  const middle = (): Region => {
    const [width, height] = [Math.min(200, frame.widthPx), Math.min(200, frame.heightPx)];
    return { xPx: (frame.widthPx - width) >> 1, yPx: (frame.heightPx - height) >> 1, widthPx: width, heightPx: height };
  };
  const limits = {
    xPx: [0, frame.widthPx - (region?.widthPx ?? 1)],
    yPx: [0, frame.heightPx - (region?.heightPx ?? 1)],
    widthPx: [1, frame.widthPx - (region?.xPx ?? 0)],
    heightPx: [1, frame.heightPx - (region?.yPx ?? 0)],
  } as const;
  const names = { xPx: 'from the left', yPx: 'from the top', widthPx: 'wide', heightPx: 'high' } as const;
  return (
    <div className="toolbar">
      {region === null ? (
        <>
          <span>The whole frame; draw a region on it, or</span>
          <button type="button" onClick={() => onRegion(middle())}>
            Take the middle
          </button>
        </>
      ) : (
        <>
          <span title={regionInWords(region)}>Region, px:</span>
          {(Object.keys(names) as (keyof Region)[]).map((key) => (
            <label key={key}>
              {names[key]}{' '}
              <input
                type="number"
                min={limits[key][0]}
                max={limits[key][1]}
                value={region[key]}
                onChange={({ target }) => {
                  const value = Math.round(Number(target.value));
                  if (target.value === '' || value < limits[key][0] || value > limits[key][1]) return;
                  onRegion({ ...region, [key]: value });
                }}
              />
            </label>
          ))}
          <button type="button" onClick={() => onRegion(null)}>
            Whole frame
          </button>
        </>
      )}
    </div>
  );
}

/** What is being done, for how long already. */
function Working({ busy }: { busy: 'opening' | 'measuring' }) {
  const [seconds, setSeconds] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => setSeconds((before) => before + 1), 1000);
    return () => clearInterval(timer);
  }, []);
  return (
    <span role="status" className="run-progress">
      <progress aria-label={busy === 'opening' ? 'Opening the frame' : 'Measuring'} />
      {busy === 'opening' ? 'opening' : 'measuring'} … {seconds} s
    </span>
  );
}
