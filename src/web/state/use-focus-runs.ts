import { useCallback, useEffect, useRef, useState } from 'react';
import type { Region } from '../../image/index.js';
import type { FocusRunRequest } from '../../protocol/index.js';
import type { FocusMethodName } from '../../station/index.js';
import { beginFocusRun, type WatchedFocus } from './focus-run.js';
import { ServerError } from './server.js';

/** A run and what it was asked for. */
export interface TriedFocus {
  request: FocusRunRequest;
  seen: WatchedFocus;
}

/** Runs of one section: one after the other, each told step by step, cancelled together. */
export interface FocusRuns {
  tried: readonly TriedFocus[];
  /** The search that runs. */
  running: FocusMethodName | null;
  trouble: string | null;
  setTrouble(trouble: string | null): void;
  /** Drops the runs before and begins these in turn. */
  begin(requests: readonly FocusRunRequest[]): Promise<void>;
  cancel(): void;
  partIsThere(): void;
}

/** `onRegion` is told where the server chose the region. A run is cancelled when its page is left. */
export function useFocusRuns(onRegion: (region: Region) => void): FocusRuns {
  const [tried, setTried] = useState<readonly TriedFocus[]>([]);
  const [running, setRunning] = useState<FocusMethodName | null>(null);
  const [trouble, setTrouble] = useState<string | null>(null);
  const under = useRef<Awaited<ReturnType<typeof beginFocusRun>> | null>(null);
  const isCancelled = useRef(false);
  const cancel = useCallback(() => {
    isCancelled.current = true;
    void under.current?.cancel().catch(() => {});
  }, []);
  useEffect(() => cancel, [cancel]);

  const begin = async (requests: readonly FocusRunRequest[]) => {
    isCancelled.current = false;
    setTrouble(null);
    setTried([]);
    try {
      for (const [index, request] of requests.entries()) {
        if (isCancelled.current) break;
        setRunning(request.method);
        under.current = await beginFocusRun(request, (seen, event) => {
          if (event?.type === 'region') onRegion(event.region);
          setTried((before) => [...before.slice(0, index), { request, seen }]);
        });
        if (isCancelled.current) void under.current.cancel();
        const { ended } = await under.current.ended;
        if (ended?.message) setTrouble(ended.message);
      }
    } catch (error) {
      if (!(error instanceof ServerError)) throw error;
      setTrouble(`${error.message} ${error.remedy}`);
    } finally {
      under.current = null;
      setRunning(null);
    }
  };
  return {
    tried,
    running,
    trouble,
    setTrouble,
    begin,
    cancel,
    partIsThere: () => void under.current?.partIsThere().catch(() => {}),
  };
}
