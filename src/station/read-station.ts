import { FocuswrightError } from '../base/index.js';
import { crossCheckIssues } from './cross-checks.js';
import { type Station, stationSchema } from './schema.js';
import { problemsOf, type StationProblem } from './station-problem.js';
import { crossCheckInWords, schemaIssueInWords } from './value-problems.js';
import { parseYamlText } from './yaml-text.js';

/** A checked station file, or everything that is wrong with it, in the order of its lines. */
export type CheckedStation =
  | { kind: 'valid'; station: Station }
  | { kind: 'malformed'; problems: StationProblem[] }
  | { kind: 'invalid'; problems: StationProblem[] };

/**
 * Checks a station file's text, defaults filled in.
 *
 * Input    text of at most 200 000 characters; `fileName` is for the messages
 * Returns  the station, or all problems: `malformed` where it is not YAML of the allowed kind, `invalid` where keys or
 *          values are not allowed. Each problem names line, key, received value, allowed range with unit, and remedy.
 * Trust    a valid station may still plan badly: a layout that reaches nothing is a finding of the plan.
 */
export function checkStation(yamlText: string, { fileName }: { fileName: string }): CheckedStation {
  const parsed = parseYamlText(yamlText);
  if (parsed.kind === 'malformed') return { kind: 'malformed', problems: problemsOf(fileName, parsed.problems) };

  const value: unknown = parsed.document.toJS();
  const result = stationSchema.safeParse(value);
  if (result.success && parsed.duplicates.length === 0) return { kind: 'valid', station: result.data };

  const ofSchema = result.success ? [] : result.error.issues.flatMap((issue) => schemaIssueInWords(issue, parsed));
  // The schema skips relations between values where a type is wrong: they are asked for again, and listed once.
  const ofRelations = crossCheckIssues(value).map((issue) => crossCheckInWords(issue, parsed));
  return { kind: 'invalid', problems: problemsOf(fileName, [...parsed.duplicates, ...ofSchema, ...ofRelations]) };
}

/**
 * Reads a station file's text: checkStation, for callers that cannot go on without a station.
 *
 * Throws   FocuswrightError `station-malformed` or `station-invalid`, with `file` and the list `problems`.
 */
export function readStation(yamlText: string, { fileName }: { fileName: string }): Station {
  const checked = checkStation(yamlText, { fileName });
  if (checked.kind === 'valid') return checked.station;
  throw new FocuswrightError(checked.kind === 'malformed' ? 'station-malformed' : 'station-invalid', {
    file: fileName,
    problems: checked.problems.map(({ text }) => text),
  });
}
