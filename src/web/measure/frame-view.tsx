import { useEffect, useRef } from 'react';
import type { PictureMark, Region } from '../../image/index.js';
import { RegionPicture } from '../parts/region-picture.js';
import type { ChosenFrame } from '../state/measure-state.js';

/** Smallest region that any measurement takes. */
const leastPx = 9;
/** Frames with fewer pixels across are shown with their pixels as squares. */
const fewPx = 400;

/** The frame, the region on it, and the outlines of what was found. */
export function FrameView({
  frame,
  region,
  marks,
  onRegion,
}: {
  frame: ChosenFrame;
  region: Region | null;
  marks: readonly PictureMark[];
  onRegion: (region: Region) => void;
}) {
  const { widthPx, heightPx, preview, origin } = frame;
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const at = canvas.current;
    if (!at) return;
    at.width = preview.widthPx;
    at.height = preview.heightPx;
    at.getContext('2d')?.putImageData(new ImageData(preview.rgba, preview.widthPx, preview.heightPx), 0, 0);
  }, [preview]);
  const share = (at: number, whole: number) => `${(100 * (at + 0.5)) / whole}%`;
  return (
    <div className="frame-view" style={{ maxWidth: `calc(75vh * ${widthPx / heightPx})` }}>
      <RegionPicture
        widthPx={widthPx}
        heightPx={heightPx}
        leastPx={Math.min(leastPx, widthPx, heightPx)}
        region={region}
        onChange={onRegion}
      >
        <canvas
          ref={canvas}
          className={widthPx < fewPx ? 'frame-canvas frame-squares' : 'frame-canvas'}
          role="img"
          aria-label={`Frame ${origin.name}, ${widthPx} × ${heightPx} pixels`}
        />
        {marks.length > 0 && (
          <svg
            className="frame-marks"
            viewBox={`-0.5 -0.5 ${widthPx} ${heightPx}`}
            preserveAspectRatio="none"
            aria-hidden="true"
          >
            {marks.map(({ corners, look }, i) => {
              const points = corners.map(({ xPx, yPx }) => `${xPx.toFixed(2)},${yPx.toFixed(2)}`).join(' ');
              return (
                // biome-ignore lint/suspicious/noArrayIndexKey: marks have no name and are drawn anew all together
                <g key={i}>
                  <polygon className="mark-rim" points={points} />
                  <polygon className={`mark-${look}`} points={points} />
                </g>
              );
            })}
          </svg>
        )}
        {marks
          .filter(({ label }) => label !== '')
          .map(({ corners, label }) => {
            const left = Math.min(...corners.map(({ xPx }) => xPx));
            const top = Math.min(...corners.map(({ yPx }) => yPx));
            return (
              <span
                key={`${label} ${left} ${top}`}
                className={top > 0.04 * heightPx ? 'mark-label mark-label-above' : 'mark-label'}
                style={{ left: share(Math.max(0, left), widthPx), top: share(Math.max(0, top), heightPx) }}
              >
                {label}
              </span>
            );
          })}
      </RegionPicture>
    </div>
  );
}
