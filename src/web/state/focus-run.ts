import type { Region } from '../../image/index.js';
import type { FocusEvent, FocusPicture, FocusRunRequest } from '../../protocol/index.js';
import type { AutofocusResult, FocusedPart, FocusPosterior, FocusProbe, PartsSummary } from '../../station/index.js';
import { ServerError, server } from './server.js';

export type WatchedFocusEvent = FocusEvent<{
  region: Region;
  probe: FocusProbe;
  posterior: FocusPosterior;
  result: AutofocusResult;
  part: FocusedPart;
  summary: PartsSummary;
}>;

/** One frame of a search as the page shows it. */
export interface WatchedFrame {
  probe: FocusProbe;
  posterior: FocusPosterior | null;
  picture: FocusPicture;
}

/** A run as far as it has gone. */
export interface WatchedFocus {
  powerMinDpt: number;
  powerMaxDpt: number;
  /** Of the search, or of the part, that is under way. */
  frames: WatchedFrame[];
  result: AutofocusResult | null;
  parts: FocusedPart[];
  /** The part that is waited for; null: none. */
  waitingFor: number | null;
  summary: PartsSummary | null;
  ended: Extract<WatchedFocusEvent, { type: 'ended' }> | null;
}

/** What is known after one more event. */
export function afterEvent(before: WatchedFocus, event: WatchedFocusEvent): WatchedFocus {
  switch (event.type) {
    case 'region':
      return before;
    case 'frame': {
      const isFirst = event.part !== null && before.parts.length + 1 === event.part && before.result !== null;
      const { probe, posterior, picture } = event;
      return {
        ...before,
        waitingFor: null,
        result: null,
        frames: [...(isFirst ? [] : before.frames), { probe, posterior, picture }],
      };
    }
    case 'result':
      return { ...before, result: event.result };
    case 'waiting':
      return { ...before, waitingFor: event.part };
    case 'part':
      return { ...before, parts: [...before.parts, event.part], result: event.part.result };
    case 'summary':
      return { ...before, summary: event.summary };
    case 'ended':
      return { ...before, waitingFor: null, ended: event };
  }
}

/**
 * Begins a run and follows it to its end.
 *
 * Returns  the way to cancel it, to say that the next part is there, and its end; `ended` rejects with a ServerError where the server is lost.
 */
export async function beginFocusRun(
  request: FocusRunRequest,
  onChange: (seen: WatchedFocus, event: WatchedFocusEvent | null) => void,
): Promise<{ cancel(): Promise<unknown>; partIsThere(): Promise<unknown>; ended: Promise<WatchedFocus> }> {
  const { runId, powerMinDpt, powerMaxDpt } = await server.startFocus(request);
  let seen: WatchedFocus = {
    powerMinDpt,
    powerMaxDpt,
    frames: [],
    result: null,
    parts: [],
    waitingFor: null,
    summary: null,
    ended: null,
  };
  onChange(seen, null);
  const ended = new Promise<WatchedFocus>((resolve, reject) => {
    const socket = new WebSocket(`ws://${location.host}/api/focus-runs/${runId}/events`);
    socket.onmessage = ({ data }) => {
      const event = JSON.parse(String(data)) as WatchedFocusEvent;
      seen = afterEvent(seen, event);
      onChange(seen, event);
      if (!seen.ended) return;
      resolve(seen);
      socket.close();
    };
    socket.onclose = () =>
      reject(
        new ServerError({
          message: 'The link to the server was lost.',
          remedy: 'Start the search again; the lens is parked.',
        }),
      );
  });
  return {
    cancel: () => server.cancelFocus(runId),
    partIsThere: () => server.partIsThere(runId),
    ended,
  };
}
