/** One mistake in a station file. `text` is the whole message, the other fields serve a page that marks the place. */
export interface StationProblem {
  /** Line in the file, from 1. */
  line: number;
  /** Column in the line, from 1. */
  column: number;
  /** e.g. `task.nearMm`; empty where the file as a whole is meant. */
  keyPath: string;
  /** What is wrong and what to do, without the place. */
  message: string;
  /** `file:line: message`. */
  text: string;
}

/** A place in the file, and what is said about it. */
export interface PlacedMessage {
  line: number;
  column: number;
  keyPath: string;
  message: string;
}

/** The problems of one file in the order of its lines, each once. */
export function problemsOf(fileName: string, placed: readonly PlacedMessage[]): StationProblem[] {
  const seen = new Set<string>();
  return placed
    .map((at) => ({ ...at, text: `${fileName}:${at.line}: ${at.message}` }))
    .filter(({ text }) => !seen.has(text) && seen.add(text))
    .sort((a, b) => a.line - b.line || a.column - b.column);
}

/** `task.planesMm[2]`. */
export function keyPathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>((text, key) => {
    if (typeof key === 'number') return `${text}[${key}]`;
    return text ? `${text}.${String(key)}` : String(key);
  }, '');
}
