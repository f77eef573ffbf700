import type { StationText } from '../../protocol/index.js';

/** Unsaved changes of this tab, and which station it had open; kept until the tab is closed. */
const draftKey = (name: string) => `focuswright-draft:${name}`;
const openKey = 'focuswright-open';

/** The changed text of a station, if it was changed from this very text. */
export function draftOf({ name, yaml }: StationText): string | null {
  writeDraft();
  const kept = sessionStorage.getItem(draftKey(name));
  if (kept === null) return null;
  const draft = JSON.parse(kept) as { openedYaml: string; yaml: string };
  return draft.openedYaml === yaml ? draft.yaml : null;
}

interface Draft {
  name: string;
  openedYaml: string;
  yaml: string;
}

/** A value that is being dragged is written when it rests this long, or the page is left. */
const restMs = 200;
let waiting: Draft | null = null;

/** Keeps the changed text of a station; a text as it was opened needs no draft. */
export function keepDraft(draft: Draft): void {
  if (waiting !== null && waiting.name !== draft.name) writeDraft();
  if (waiting === null) window.setTimeout(writeDraft, restMs);
  waiting = draft;
}

function writeDraft(): void {
  if (waiting === null) return;
  const { name, openedYaml, yaml } = waiting;
  waiting = null;
  if (yaml === openedYaml) sessionStorage.removeItem(draftKey(name));
  else sessionStorage.setItem(draftKey(name), JSON.stringify({ openedYaml, yaml }));
}

window.addEventListener('pagehide', writeDraft);

/** Remembers the station that is open, as long as the server serves what it serves now. */
export function keepOpen(kept: { served: StationText; open: StationText }): void {
  sessionStorage.setItem(openKey, JSON.stringify(kept));
}

/** The station to open when the page is loaded: the one last open, or `served` if the server now serves another. */
export function stationToOpen(served: StationText): StationText {
  const text = sessionStorage.getItem(openKey);
  if (text === null) return served;
  const kept = JSON.parse(text) as { served: StationText; open: StationText };
  return kept.served.name === served.name && kept.served.yaml === served.yaml ? kept.open : served;
}
