import { fixedLensFromGroups, splitAtStop } from '../../optics/index.js';
import { type CrossCheckIssue, crossCheckIssues } from '../cross-checks.js';
import type { PlacedMessage } from '../station-problem.js';
import { crossCheckInWords, type Source, schemaIssueInWords } from '../value-problems.js';
import { type FixedLens, type PartKind, partKinds } from './part-kinds.js';

/** A part as its schema makes it, defaults filled in, with the kind that its place or column gave it. */
export interface CheckedPart {
  kind: PartKind;
  part: { name: string };
  place: PlacedMessage;
}

/**
 * Checks one part's values against its kind: allowed keys and ranges, relations between its limits, and whether the
 * groups of a fixed lens make the lens that it says it is.
 *
 * Input    `path` leads to the part in the source's document; empty where the document is the part itself
 */
export function checkPart({
  kind,
  value,
  path,
  source,
}: {
  kind: PartKind;
  value: unknown;
  path: (string | number)[];
  source: Source;
}): { part: { name: string } | null; problems: PlacedMessage[] } {
  const inStation: Source = { ...source, stationPath: (at) => ['parts', kind, ...at.slice(path.length)] };
  const result = partKinds[kind].schema.safeParse(value);
  const issues: CrossCheckIssue[] = crossCheckIssues({ parts: { [kind]: value } }).map(({ path: at, ...issue }) => ({
    ...issue,
    path: [...path, ...at.slice(2)],
  }));
  if (result.success && kind === 'fixedLens') issues.push(...groupsIssues(result.data as FixedLens, path));
  const ofSchema = result.success
    ? []
    : result.error.issues.flatMap((issue) =>
        schemaIssueInWords({ ...issue, path: [...path, ...issue.path] }, inStation),
      );
  const problems = [...ofSchema, ...issues.map((issue) => crossCheckInWords(issue, inStation))];
  return { part: result.success && problems.length === 0 ? (result.data as { name: string }) : null, problems };
}

/** A declared focal length or pupil magnification that the groups contradict. */
function groupsIssues(lens: FixedLens, path: (string | number)[]): CrossCheckIssue[] {
  if (!lens.groups) return [];
  try {
    const own = fixedLensFromGroups({ groups: lens.groups, fNumber: lens.fNumberMin });
    splitAtStop({ ...own, ...lens, pupilMagnification: lens.pupilMagnification ?? own.pupilMagnification });
    return [];
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return [{ path: [...path, 'groups'], input: lens.groups, message: `contradict the lens: ${error.message}` }];
  }
}
