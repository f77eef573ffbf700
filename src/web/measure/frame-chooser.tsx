import { useEffect, useState } from 'react';
import { Link } from 'wouter';
import type { KeptFrame } from '../../protocol/index.js';
import { formatNumber } from '../../report/index.js';
import type { FrameSlot } from '../measure-worker.js';
import { type ChosenFrame, useMeasure } from '../state/measure-state.js';
import { ServerError, server } from '../state/server.js';

/** A frame for a slot: from the open camera, from a folder of the server, or a file. */
export function FrameChooser({ slot, frame }: { slot: FrameSlot; frame: ChosenFrame | null }) {
  const { kept, busy, open, fetchAndOpen, loadKept } = useMeasure();
  const [folder, setFolder] = useState('');
  const [rows, setRows] = useState<KeptFrame[]>([]);
  const [chosen, setChosen] = useState('');
  const [trouble, setTrouble] = useState<string | null>(null);
  const [hasCamera, setHasCamera] = useState<boolean | null>(null);
  useEffect(() => {
    void loadKept();
    server.camera().then(
      (camera) => setHasCamera(camera !== null),
      () => setHasCamera(false),
    );
  }, [loadKept]);
  useEffect(() => {
    setRows([]);
    setChosen('');
    setTrouble(null);
    if (folder === '') return;
    let isCurrent = true;
    server.keptFrames(folder).then(
      (found) => isCurrent && setRows(found),
      (error: unknown) => {
        if (!(error instanceof ServerError)) throw error;
        if (isCurrent) setTrouble(`${error.message} ${error.remedy}`);
      },
    );
    return () => {
      isCurrent = false;
    };
  }, [folder]);
  const isBusy = busy !== null;
  const takeFromCamera = () =>
    void fetchAndOpen(slot, async () => {
      const { blob, facts } = await server.cameraFrame();
      const origin = {
        name: `${facts.source}, frame ${facts.frameId}`,
        simulated: facts.simulated,
        focalPowerDpt: facts.focalPowerDpt,
        workingDistanceMm: null,
        offBestFocusDpt: null,
      };
      return { blob, origin };
    });
  const takeStored = (url: string) => {
    setChosen(url);
    const row = rows.find((one) => one.url === url);
    if (!row) return;
    const { file, simulated, focalPowerDpt, workingDistanceMm, offBestFocusDpt } = row;
    const origin = { name: `${folder}/${file}`, simulated, focalPowerDpt, workingDistanceMm, offBestFocusDpt };
    void fetchAndOpen(slot, async () => ({ blob: await server.frameFile(url), origin }));
  };
  const ordinal = slot === 'first' ? 'Frame' : 'Second frame';
  return (
    <fieldset className="frame-chooser">
      <legend>{ordinal}</legend>
      <div className="toolbar">
        <button type="button" className="button" disabled={isBusy || !hasCamera} onClick={takeFromCamera}>
          {slot === 'first' ? 'Newest frame of the camera' : 'Another frame of the camera'}
        </button>
        {hasCamera === false && slot === 'first' && (
          <span className="soft">
            no camera is open: <Link href="/connect">connect one</Link>
          </span>
        )}
        <label>
          Stored in{' '}
          <select value={folder} disabled={isBusy} onChange={(event) => setFolder(event.target.value)}>
            <option value="">
              {kept && kept.folders.length === 0 ? 'no folder with frames yet' : 'choose a folder'}
            </option>
            {kept?.folders.map(({ name, frames }) => (
              <option key={name} value={name}>
                {name} ({frames})
              </option>
            ))}
          </select>
        </label>
        {folder !== '' && (
          <label>
            <span className="visually-hidden">Stored frame </span>
            <select
              value={chosen}
              disabled={isBusy || rows.length === 0}
              onChange={(event) => takeStored(event.target.value)}
            >
              <option value="">choose a frame</option>
              {rows.map(({ url, file, workingDistanceMm, focalPowerDpt }) => (
                <option key={url} value={url}>
                  {formatNumber(workingDistanceMm, 4)} mm, {focalPowerDpt.toFixed(3).replace('-', '−')} dpt: {file}
                </option>
              ))}
            </select>
          </label>
        )}
        <label className="button file-button" aria-disabled={isBusy}>
          {frame ? 'Open another file …' : 'Open a file …'}
          <input
            type="file"
            className="visually-hidden"
            accept=".png,.tif,.tiff,image/png,image/tiff"
            disabled={isBusy}
            onChange={({ target }) => {
              const file = target.files?.[0];
              if (file) void open(slot, fileSource(file));
              target.value = '';
            }}
          />
        </label>
        {frame && frame.pageCount > 1 && (
          <label>
            Page{' '}
            <input
              type="number"
              min={1}
              max={frame.pageCount}
              value={frame.page}
              disabled={isBusy}
              onChange={({ target }) => {
                const page = Math.round(Number(target.value));
                if (page >= 1 && page <= frame.pageCount) void open(slot, { ...frame, page });
              }}
            />{' '}
            of {frame.pageCount}
          </label>
        )}
      </div>
      {trouble && <p role="alert">{trouble}</p>}
      {frame && (
        <p className="frame-facts">
          {frame.origin.name}: {frame.widthPx} × {frame.heightPx} px, {frame.bitDepth} bit
          {frame.pageCount > 1 && `, page ${frame.page} of ${frame.pageCount}`}
          {frame.origin.focalPowerDpt !== null && `, ${frame.origin.focalPowerDpt.toFixed(3).replace('-', '−')} dpt`}
          {frame.origin.simulated && <span className="soft"> · simulated</span>}
          <span className="soft">
            {' '}
            · shown from {frame.preview.lowDn} to {frame.preview.highDn} DN
          </span>
        </p>
      )}
    </fieldset>
  );
}

/** A file of the person's own: nothing is known of where it was taken. */
export const fileSource = (file: File) => ({
  blob: file,
  origin: { name: file.name, simulated: false, focalPowerDpt: null, workingDistanceMm: null, offBestFocusDpt: null },
});
