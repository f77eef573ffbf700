import { useEffect, useRef, useState } from 'react';
import type { LiveFrame, LiveTrouble, OpenedCamera } from '../../protocol/index.js';
import { followLive } from '../state/camera-link.js';
import { ServerError, server } from '../state/server.js';

/** Pictures are asked for no wider than this. */
const widthPx = 800;
/** A lens so near its temperature limit is warned of. */
const warmDegC = 5;

/** What the camera sees now, with power, exposure, temperature and sharpness. */
export function LiveView({ opened }: { opened: OpenedCamera }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [about, setAbout] = useState<LiveFrame | null>(null);
  const [sharpest, setSharpest] = useState(0);
  const [trouble, setTrouble] = useState<LiveTrouble | null>(null);
  const [wantedDpt, setWantedDpt] = useState<number | null>(null);
  useEffect(
    () =>
      followLive({
        widthPx,
        shown({ about: seen, picture }) {
          const at = canvas.current;
          if (!at) return;
          at.width = picture.width;
          at.height = picture.height;
          at.getContext('2d')?.drawImage(picture, 0, 0);
          picture.close();
          setAbout(seen);
          setSharpest((before) => Math.max(before, seen.measure));
          setTrouble(null);
        },
        trouble: setTrouble,
      }),
    [],
  );
  const command = (wanted: { focalPowerDpt?: number; exposureMs?: number }) =>
    server.commandCamera(wanted).catch((error: unknown) => {
      if (!(error instanceof ServerError)) throw error;
      setTrouble(error);
    });
  const move = (focalPowerDpt: number) => {
    setWantedDpt(focalPowerDpt);
    void command({ focalPowerDpt });
  };
  const { powerMinDpt, powerMaxDpt, temperatureMaxDegC, hasLens } = opened;
  const temperatureDegC = about?.temperatureDegC ?? null;
  const isWarm = temperatureDegC !== null && temperatureDegC > temperatureMaxDegC - warmDegC;

  return (
    <div className="live-view">
      <canvas
        ref={canvas}
        className="live-picture"
        role="img"
        aria-label={`Live picture of ${opened.model}`}
        aria-busy={about === null}
      />
      <div className="live-side">
        {opened.simulated && <p>Simulated: what it shows is no real scene.</p>}
        {trouble && (
          <p role="alert">
            {trouble.message} {trouble.remedy}
          </p>
        )}
        <dl className="live-facts">
          <dt>Camera</dt>
          <dd>
            {opened.model}
            {opened.serialNumber && <span className="soft"> · {opened.serialNumber}</span>}
          </dd>
          <dt>Lens</dt>
          <dd>{hasLens ? opened.lensModel : 'none that can be commanded'}</dd>
          {hasLens && (
            <>
              <dt>Limits</dt>
              <dd>
                {signed(powerMinDpt)} … {signed(powerMaxDpt)} <span className="unit">dpt</span>
              </dd>
              <dt>Power</dt>
              <dd>
                {about ? signed(about.focalPowerDpt) : '–'} <span className="unit">dpt</span>
              </dd>
            </>
          )}
          <dt>Temperature</dt>
          <dd>
            {temperatureDegC === null ? 'not told' : `${temperatureDegC.toFixed(1)} °C`}
            <span className="soft"> of {temperatureMaxDegC} °C</span>
          </dd>
          <dt>Exposure</dt>
          <dd>
            {about?.exposureMs?.toPrecision(3) ?? '–'} <span className="unit">ms</span>
            {about && about.saturatedRatio > 0.01 && ' · saturated: shorten it'}
          </dd>
          <dt>Sharpness</dt>
          <dd>
            {about ? Number(about.measure.toPrecision(3)) : '–'}
            <meter
              min={0}
              max={sharpest || 1}
              value={about?.measure ?? 0}
              aria-label="sharpness relative to the sharpest seen"
            />
          </dd>
        </dl>
        {isWarm && <p role="alert">The lens is near its temperature limit: hold no large power for long.</p>}
        {hasLens && (
          <label className="live-power">
            Focal power
            <input
              type="range"
              min={powerMinDpt}
              max={powerMaxDpt}
              step={(powerMaxDpt - powerMinDpt) / 500}
              value={wantedDpt ?? about?.focalPowerDpt ?? 0}
              onChange={(event) => move(Number(event.target.value))}
            />
          </label>
        )}
        <div className="toolbar">
          <button
            type="button"
            className="button"
            disabled={!about?.exposureMs}
            onClick={() => command({ exposureMs: Math.max(opened.exposureMinMs, (about?.exposureMs ?? 1) / 1.5) })}
          >
            Darker
          </button>
          <button
            type="button"
            className="button"
            disabled={!about?.exposureMs}
            onClick={() => command({ exposureMs: Math.min(opened.exposureMaxMs, (about?.exposureMs ?? 1) * 1.5) })}
          >
            Brighter
          </button>
        </div>
      </div>
    </div>
  );
}

const signed = (dpt: number): string => dpt.toFixed(3).replace('-', '−');
