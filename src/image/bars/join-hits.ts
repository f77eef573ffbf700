import type { TripletHit } from './scan-triplets.js';

/** Three bars met on neighbouring rows: a place worth a fit. In blocks of the level, rows as the level counts them. */
export interface BarTrack {
  centre: number;
  row: number;
  barWidth: number;
  bright: boolean;
  depthDn: number;
  /** Change of the centre per row. */
  slope: number;
}

interface OpenTrack {
  hits: TripletHit[];
  last: TripletHit;
}

/**
 * Joins hits of following rows; keeps runs about as long as bars are (five widths, a row is two blocks).
 *
 * Returns  tracks between one third and twice the length of a bar
 */
export function joinHits(hits: readonly TripletHit[]): BarTrack[] {
  const tracks: BarTrack[] = [];
  let open: OpenTrack[] = [];
  for (const hit of hits) {
    // Elements follow each other along the bars too, a bar's width apart or more: a larger gap ends a track.
    open = open.filter((track) => {
      const alive = hit.row - track.last.row <= Math.max(1, track.last.barWidth / 2.2);
      if (!alive) closeTrack(track, tracks);
      return alive;
    });
    let best: OpenTrack | null = null;
    let nearest = Number.POSITIVE_INFINITY;
    for (const track of open) {
      const { last } = track;
      if (last.bright !== hit.bright || last.row === hit.row) continue;
      const ratio = last.barWidth / hit.barWidth;
      const distance = Math.abs(last.centre - hit.centre);
      if (ratio < 0.75 || ratio > 1.34 || distance > 0.5 * hit.barWidth + 0.3 || distance >= nearest) continue;
      nearest = distance;
      best = track;
    }
    if (best) {
      best.hits.push(hit);
      best.last = hit;
    } else open.push({ hits: [hit], last: hit });
  }
  for (const track of open) closeTrack(track, tracks);
  return tracks;
}

function closeTrack({ hits }: OpenTrack, tracks: BarTrack[]): void {
  const n = hits.length;
  const widths = hits.map(({ barWidth }) => barWidth).sort((a, b) => a - b);
  const barWidth = widths[n >> 1]!;
  const lengthRows = 2.5 * barWidth;
  const extent = hits[n - 1]!.row - hits[0]!.row + 1;
  if (extent < Math.floor(lengthRows / 3) || extent > 2 * lengthRows + 1 || n < 0.6 * extent) return;
  const row = hits.reduce((sum, hit) => sum + hit.row, 0) / n;
  const centre = hits.reduce((sum, hit) => sum + hit.centre, 0) / n;
  const spread = hits.reduce((sum, hit) => sum + (hit.row - row) ** 2, 0);
  const joint = hits.reduce((sum, hit) => sum + (hit.row - row) * (hit.centre - centre), 0);
  const depthDn = hits.reduce((sum, hit) => sum + hit.depthDn, 0) / n;
  const slope = n >= 4 ? joint / spread : 0;
  tracks.push({ centre, row, barWidth, bright: depthDn > 0, depthDn, slope: Math.max(-0.8, Math.min(0.8, slope)) });
}
