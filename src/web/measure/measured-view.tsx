import { useCallback, useMemo, useState } from 'react';
import type { FigureSize } from '../../report/index.js';
import { FigureView } from '../parts/figure-view.js';
import type { Measured } from '../state/measure-state.js';
import { measureFigure } from './measure-figure.js';
import type { FramePrediction } from './prediction.js';

/** A result: its refusal or its figure, and the record to copy or save. */
export function MeasuredView({
  measured,
  about,
  softwareVersion,
}: {
  measured: Measured;
  about: FramePrediction;
  softwareVersion: string;
}) {
  const { frame, outcome } = measured;
  const { reading } = outcome;
  const { widthPx, heightPx } = frame;
  const figure = useMemo(
    () => measureFigure(outcome, { about, widthPx, heightPx }),
    [outcome, about, widthPx, heightPx],
  );
  const draw = useCallback((size: FigureSize) => figure!(size), [figure]);
  const json = useMemo(() => recordText(measured, softwareVersion), [measured, softwareVersion]);
  const [said, setSaid] = useState('');
  const copy = async () => {
    const isCopied = await navigator.clipboard.writeText(json).then(
      () => true,
      () => false,
    );
    setSaid(isCopied ? 'Copied.' : 'The browser does not let the page copy; save it instead.');
  };
  const save = () => {
    const url = URL.createObjectURL(new Blob([json], { type: 'application/json' }));
    const link = document.createElement('a');
    link.href = url;
    link.download = `measure-${outcome.what}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 10_000);
    setSaid(`Saved as ${link.download}.`);
  };
  return (
    <section aria-label="Result" className="measured">
      {reading.kind === 'refused' && (
        <p role="alert">
          Refused: {reading.message} {reading.remedy}
        </p>
      )}
      {figure && (
        <FigureView
          draw={draw}
          aspect={outcome.what === 'star' || outcome.what === 'grid' ? 0.8 : 0.66}
          simulated={frame.origin.simulated}
        />
      )}
      <div className="toolbar">
        <button type="button" onClick={() => void copy()}>
          Copy as JSON
        </button>
        <button type="button" onClick={save}>
          Save as JSON
        </button>
        <span role="status" className="soft">
          {said}
        </span>
      </div>
    </section>
  );
}

/** The record as the command line writes it: the library's, after file, hash, size and version. */
function recordText({ frame, second, outcome, order }: Measured, softwareVersion: string): string {
  const { origin, sha256, page, pageCount, widthPx, heightPx, bitDepth } = frame;
  const { region, what } = order;
  return JSON.stringify(
    {
      file: origin.name,
      sha256,
      page,
      pageCount,
      widthPx,
      heightPx,
      bitDepth,
      simulated: origin.simulated,
      ...(second && { secondFile: second.origin.name, secondSha256: second.sha256 }),
      softwareVersion,
      measured: what,
      region,
      ...outcome.reading,
    },
    null,
    2,
  );
}
