import {
  type ApiError,
  type CamerasAnswer,
  type FocusPicture,
  type FocusRunBegun,
  type FocusRunRequest,
  type FocusSceneRequest,
  frameFactsHeader,
  type KeptFoldersAnswer,
  type KeptFrame,
  type LiveCommand,
  type LiveCommanded,
  type LiveFrameFacts,
  type OpenCameraRequest,
  type OpenedCamera,
  type RehearsalRequest,
  type RunEvent,
  type RunSummary,
  type StationSummary,
  type StationText,
} from '../../protocol/index.js';
import type { CommissionRecord, PartsLibrary } from '../../station/index.js';

/** An answer that is not the wanted one: message and remedy for the person. */
export class ServerError extends Error {
  readonly remedy: string;
  constructor({ message, remedy }: Pick<ApiError, 'message' | 'remedy'>) {
    super(message);
    this.remedy = remedy;
  }
}

const unreachable = {
  message: 'The server does not answer.',
  remedy: 'Start it again with `npm start`; what is in the page stays.',
};

async function ask<T>(path: string, options?: RequestInit): Promise<T> {
  const response = await fetch(path, options).catch(() => {
    throw new ServerError(unreachable);
  });
  const body: unknown = await response.json().catch(() => unreachable);
  if (!response.ok) throw new ServerError(body as ApiError);
  return body as T;
}

/** A file of the server as it is. */
async function askForFile(path: string): Promise<{ blob: Blob; headers: Headers }> {
  const response = await fetch(path).catch(() => {
    throw new ServerError(unreachable);
  });
  if (!response.ok) {
    const missing = { message: `${decodeURIComponent(path)} is not there.`, remedy: 'Choose another frame.' };
    throw new ServerError(((await response.json().catch(() => null)) as ApiError | null) ?? missing);
  }
  return { blob: await response.blob(), headers: response.headers };
}

const json = (method: string, body: unknown): RequestInit => ({
  method,
  headers: { 'Content-Type': 'application/json' },
  body: JSON.stringify(body),
});
const post = <T>(path: string, body: unknown) =>
  ask<T>(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });

/** What the page asks of the server. */
export const server = {
  focusScene: (request: FocusSceneRequest) => post<FocusPicture>('/api/focus-scene', request),
  startFocus: (request: FocusRunRequest) => post<FocusRunBegun>('/api/focus-runs', request),
  cancelFocus: (runId: string) => ask<null>(`/api/focus-runs/${runId}`, { method: 'DELETE' }),
  partIsThere: (runId: string) => ask<null>(`/api/focus-runs/${runId}/part`, { method: 'POST' }),
  opened: () => ask<StationText>('/api/opened'),
  stations: () => ask<StationSummary[]>('/api/stations'),
  station: (name: string) => ask<StationText>(`/api/stations/${encodeURIComponent(name)}`),
  parts: () => ask<PartsLibrary>('/api/parts'),
  cameras: () => ask<CamerasAnswer>('/api/cameras'),
  camera: () => ask<OpenedCamera | null>('/api/camera'),
  openCamera: (request: OpenCameraRequest) => ask<OpenedCamera>('/api/camera', json('POST', request)),
  closeCamera: () => ask<null>('/api/camera', { method: 'DELETE' }),
  commandCamera: (wanted: LiveCommand) => ask<LiveCommanded>('/api/camera/command', json('POST', wanted)),
  startRehearsal: (request: RehearsalRequest) =>
    ask<RunSummary>('/api/rehearsals', {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify(request),
    }),
  cancelRehearsal: (runId: string) => ask<RunSummary>(`/api/rehearsals/${runId}`, { method: 'DELETE' }),
  rehearsals: () => ask<RunSummary[]>('/api/rehearsals'),
  record: (runId: string) => ask<CommissionRecord>(`/handovers/${runId}/results.json`),
  keptFolders: () => ask<KeptFoldersAnswer>('/api/frames'),
  keptFrames: (folder: string) => ask<KeptFrame[]>(`/api/frames/${encodeURIComponent(folder)}`),
  frameFile: async (url: string): Promise<Blob> => (await askForFile(url)).blob,
  /** A new whole frame of the open camera. */
  async cameraFrame(): Promise<{ blob: Blob; facts: LiveFrameFacts }> {
    const { blob, headers } = await askForFile('/api/camera/frame');
    return { blob, facts: JSON.parse(decodeURIComponent(headers.get(frameFactsHeader) ?? 'null')) as LiveFrameFacts };
  },
  /** Follows a run; `lost` is called if the connection ends before the run does. */
  follow(runId: string, { event, lost }: { event(event: RunEvent): void; lost(): void }): void {
    const socket = new WebSocket(`ws://${location.host}/api/rehearsals/${runId}/events`);
    let ended = false;
    socket.onmessage = ({ data }) => {
      const message = JSON.parse(String(data)) as RunEvent;
      ended ||= message.type === 'finished';
      event(message);
      if (ended) socket.close();
    };
    socket.onclose = () => {
      if (!ended) lost();
    };
  },
};
