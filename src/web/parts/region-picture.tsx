import { type KeyboardEvent, type PointerEvent, useRef } from 'react';
import type { Region } from '../../image/index.js';
import type { FocusPicture } from '../../protocol/index.js';

const stepPx = 8;
const leastPx = 32;

/** A frame with the region on it: drag it, drag its corner, or move it with the arrow keys (with Shift: its size). */
export function RegionPicture({
  picture,
  region,
  onChange,
}: {
  picture: FocusPicture;
  region: Region;
  onChange: (region: Region) => void;
}) {
  const place = useRef<HTMLDivElement>(null);
  const held = useRef<{ xPx: number; yPx: number; region: Region; isCorner: boolean } | null>(null);
  const { widthPx, heightPx } = picture;
  const inside = (wanted: Region): Region => {
    const width = Math.round(Math.min(widthPx, Math.max(leastPx, wanted.widthPx)));
    const height = Math.round(Math.min(heightPx, Math.max(leastPx, wanted.heightPx)));
    return {
      xPx: Math.round(Math.min(widthPx - width, Math.max(0, wanted.xPx))),
      yPx: Math.round(Math.min(heightPx - height, Math.max(0, wanted.yPx))),
      widthPx: width,
      heightPx: height,
    };
  };
  const pointAt = (event: PointerEvent) => {
    const box = place.current!.getBoundingClientRect();
    return {
      xPx: ((event.clientX - box.left) / box.width) * widthPx,
      yPx: ((event.clientY - box.top) / box.height) * heightPx,
    };
  };
  const take = (event: PointerEvent<HTMLElement>, isCorner: boolean) => {
    event.preventDefault();
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    held.current = { ...pointAt(event), region, isCorner };
  };
  const drag = (event: PointerEvent) => {
    if (!held.current) return;
    const { xPx, yPx } = pointAt(event);
    const { region: from, isCorner } = held.current;
    const [dx, dy] = [xPx - held.current.xPx, yPx - held.current.yPx];
    onChange(
      inside(
        isCorner
          ? { ...from, widthPx: from.widthPx + dx, heightPx: from.heightPx + dy }
          : { ...from, xPx: from.xPx + dx, yPx: from.yPx + dy },
      ),
    );
  };
  const drop = () => {
    held.current = null;
  };
  const onKey = (event: KeyboardEvent) => {
    const moves: Record<string, [number, number]> = {
      ArrowLeft: [-stepPx, 0],
      ArrowRight: [stepPx, 0],
      ArrowUp: [0, -stepPx],
      ArrowDown: [0, stepPx],
    };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    const [dx, dy] = move;
    onChange(
      inside(
        event.shiftKey
          ? { ...region, widthPx: region.widthPx + dx, heightPx: region.heightPx + dy }
          : { ...region, xPx: region.xPx + dx, yPx: region.yPx + dy },
      ),
    );
  };
  const share = (part: number, whole: number) => `${(100 * part) / whole}%`;
  return (
    <div ref={place} className="region-picture">
      <img src={picture.dataUri} alt="What the simulated camera sees with its lens parked" draggable={false} />
      <button
        type="button"
        className="region-box"
        aria-label={`Region ${region.widthPx} × ${region.heightPx} pixels at ${region.xPx}, ${region.yPx}; arrow keys move it, with Shift they change its size`}
        style={{
          left: share(region.xPx, widthPx),
          top: share(region.yPx, heightPx),
          width: share(region.widthPx, widthPx),
          height: share(region.heightPx, heightPx),
        }}
        onPointerDown={(event) => take(event, false)}
        onPointerMove={drag}
        onPointerUp={drop}
        onPointerCancel={drop}
        onKeyDown={onKey}
      >
        <span
          className="region-corner"
          onPointerDown={(event) => take(event, true)}
          onPointerMove={drag}
          onPointerUp={drop}
          onPointerCancel={drop}
        />
      </button>
    </div>
  );
}
