import { type KeyboardEvent, type PointerEvent, type ReactNode, useRef } from 'react';
import type { Region } from '../../image/index.js';

const stepPx = 8;

/** What the pointer holds: the region, its corner, or the first corner of a new one. */
type Held = { xPx: number; yPx: number } & ({ part: 'region' | 'corner'; region: Region } | { part: 'new' });

/**
 * A frame with the region on it: draw it, drag it, drag its corner, or move it with the arrow keys (with Shift: its size).
 * Without a region the whole frame counts.
 */
export function RegionPicture({
  widthPx,
  heightPx,
  leastPx = 32,
  region,
  onChange,
  children,
}: {
  /** Size of the frame that the picture shows. */
  widthPx: number;
  heightPx: number;
  /** Least side of a region. */
  leastPx?: number;
  region: Region | null;
  onChange: (region: Region) => void;
  /** The picture, and what lies over it. */
  children: ReactNode;
}) {
  const place = useRef<HTMLDivElement>(null);
  const held = useRef<Held | null>(null);
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
      xPx: Math.min(widthPx, Math.max(0, ((event.clientX - box.left) / box.width) * widthPx)),
      yPx: Math.min(heightPx, Math.max(0, ((event.clientY - box.top) / box.height) * heightPx)),
    };
  };
  const take = (event: PointerEvent<HTMLElement>, part: Held['part']) => {
    event.preventDefault();
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    const at = pointAt(event);
    held.current = part === 'new' || region === null ? { ...at, part: 'new' } : { ...at, part, region };
  };
  const drag = (event: PointerEvent) => {
    const from = held.current;
    if (!from) return;
    event.stopPropagation();
    const at = pointAt(event);
    const [dx, dy] = [at.xPx - from.xPx, at.yPx - from.yPx];
    if (from.part === 'new') {
      if (Math.max(Math.abs(dx), Math.abs(dy)) < leastPx / 4) return;
      const corner = { xPx: Math.min(at.xPx, from.xPx), yPx: Math.min(at.yPx, from.yPx) };
      return onChange(inside({ ...corner, widthPx: Math.abs(dx), heightPx: Math.abs(dy) }));
    }
    const { region: before } = from;
    onChange(
      inside(
        from.part === 'corner'
          ? { ...before, widthPx: before.widthPx + dx, heightPx: before.heightPx + dy }
          : { ...before, xPx: before.xPx + dx, yPx: before.yPx + dy },
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
    if (!move || !region) return;
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
    <div
      ref={place}
      className="region-picture"
      onPointerDown={(event) => take(event, 'new')}
      onPointerMove={drag}
      onPointerUp={drop}
      onPointerCancel={drop}
    >
      {children}
      {region && (
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
          onPointerDown={(event) => take(event, 'region')}
          onPointerMove={drag}
          onPointerUp={drop}
          onPointerCancel={drop}
          onKeyDown={onKey}
        >
          <span
            className="region-corner"
            onPointerDown={(event) => take(event, 'corner')}
            onPointerMove={drag}
            onPointerUp={drop}
            onPointerCancel={drop}
          />
        </button>
      )}
    </div>
  );
}
