import { create } from 'zustand';
import { FocuswrightError } from '../../base/index.js';
import { planStation } from '../../planning/index.js';
import type { StationText } from '../../protocol/index.js';
import { checkStation, type PlanRecord, type Station, setStationValue } from '../../station/index.js';
import { draftOf, keepDraft, keepOpen, stationToOpen } from './drafts.js';

/** The station in the page: its text, and what follows from it. Text that is not a station keeps the last good plan. */
export interface StationState {
  /** The station that the server was started on. */
  served: StationText | null;
  name: string;
  /** The text as it stands, changed values included. */
  yaml: string;
  /** The text as opened, to tell and undo changes. */
  openedYaml: string;
  station: Station | null;
  plan: PlanRecord | null;
  /** What is wrong with the text, one entry a problem; empty when it is a station. */
  problems: readonly string[];
  /** Opens what was last open in this tab; `served` is the server's own station. */
  openFirst(served: StationText): void;
  /** Opens a station, with the changes this tab has made to it. */
  open(text: StationText): void;
  setYaml(yaml: string): void;
  /** Changes one value in place; comments and order of the text stay. */
  setValue(path: readonly string[], value: number | string | null): void;
}

export const useStation = create<StationState>((set, get) => ({
  served: null,
  name: '',
  yaml: '',
  openedYaml: '',
  station: null,
  plan: null,
  problems: [],
  openFirst(served) {
    set({ served });
    get().open(stationToOpen(served));
  },
  open(text) {
    const { name, yaml } = text;
    const { served } = get();
    if (served) keepOpen({ served, open: text });
    const draft = draftOf(text);
    const asOpened = { name, openedYaml: yaml, station: null, plan: null, ...understand(yaml) };
    set(draft === null ? asOpened : { ...asOpened, ...understand(draft) });
  },
  setYaml(yaml) {
    const { name, openedYaml } = get();
    set(understand(yaml));
    keepDraft({ name, openedYaml, yaml });
  },
  setValue(path, value) {
    get().setYaml(setStationValue(get().yaml, path, value));
  },
}));

/** A station with what follows from it. */
export interface PlannedStation {
  station: Station;
  plan: PlanRecord;
}

/** The station in the page and its plan, where there is one: the pages are shown only then. */
export function usePlanned(): PlannedStation {
  const station = useStation((state) => state.station)!;
  const plan = useStation((state) => state.plan)!;
  return { station, plan };
}

/** What a text is: a station with its plan, or its problems. */
export type PlannedText = ({ kind: 'planned' } & PlannedStation) | { kind: 'problems'; problems: readonly string[] };

/** Reads a station and plans it. */
export function plannedText(yaml: string): PlannedText {
  const checked = checkStation(yaml, { fileName: 'station' });
  if (checked.kind !== 'valid')
    return { kind: 'problems', problems: checked.problems.map(({ line, message }) => `line ${line}: ${message}`) };
  const { station } = checked;
  try {
    // The server hashes the text of what is run; a value that is being dragged needs no hash.
    const plan = planStation(station, { stationSha256: '', softwareVersion: '' });
    return { kind: 'planned', station, plan };
  } catch (error) {
    if (!(error instanceof FocuswrightError)) throw error;
    return { kind: 'problems', problems: [error.message] };
  }
}

/** A text that is no station keeps the last good plan. */
function understand(yaml: string): Partial<StationState> {
  const text = plannedText(yaml);
  return text.kind === 'planned'
    ? { yaml, station: text.station, plan: text.plan, problems: [] }
    : { yaml, problems: text.problems };
}
