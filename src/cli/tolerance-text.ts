import { formatNumber, formatRequirement, sharePercent } from '../report/index.js';
import type { Contributor, StationShare, ToleranceRecord, ToleranceRequirement } from '../station/index.js';
import { textTable } from './output.js';

const shownContributors = 2;

/** The tolerances as a page of text. */
export function toleranceText(record: ToleranceRecord): string {
  const heading = `${record.station}${record.invented ? ' (invented demonstration data)' : ''}`;
  if (record.refusal || !record.all) {
    return `${heading}: ${record.refusal?.reason ?? ''}\n    → ${record.refusal?.remedy ?? ''}`;
  }
  const { all, requirements, stationCount, seed } = record;
  const notBuildable = record.notBuildableCount;
  return [
    `${heading}: ${stationCount} stations built, seed ${seed}`,
    '',
    textTable([
      ['requirement', 'required', 'as written', '5 … 95 % of stations', 'share now', 'after calibration'],
      ['every requirement', '', '', '', withInterval(all.now), withInterval(all.afterCalibration)],
      ...requirements.map((requirement) => [
        requirement.title,
        requiredText(requirement),
        requirement.nominalValue === null ? '–' : formatNumber(requirement.nominalValue),
        rangeText(requirement),
        withInterval(requirement.now),
        withInterval(requirement.afterCalibration),
      ]),
    ]),
    '',
    ...contributorsSection(requirements),
    ...(notBuildable > 0
      ? ['', `${notBuildable} stations cannot be built or focused as drawn: they meet nothing.`]
      : []),
    '',
    ...record.assumptions.map((line) => `Assumed: ${line}`),
  ].join('\n');
}

const withInterval = ({ share, lowShare, highShare }: StationShare): string =>
  `${sharePercent(share)} (${sharePercent(lowShare)} … ${sharePercent(highShare)})`;

function requiredText({ required, unit }: ToleranceRequirement): string {
  const { value, unit: shown } = formatRequirement(required, unit);
  return [value, shown].filter((part) => part !== '').join(' ');
}

function rangeText({ now }: ToleranceRequirement): string {
  const { fifthPercentileValue: low, ninetyFifthPercentileValue: high } = now;
  return low === null || high === null ? '–' : `${formatNumber(low)} … ${formatNumber(high)}`;
}

/** What to look at first where not every station meets a requirement; for the others the record has it. */
function contributorsSection(requirements: readonly ToleranceRequirement[]): string[] {
  const open = requirements.filter(
    ({ now, afterCalibration, contributors }) =>
      contributors.length > 0 && (now.share < 1 || afterCalibration.share < 1),
  );
  if (open.length === 0) return ['Every station meets every requirement.'];
  return ['First contributors, by their share of the variance:', ...open.map(contributorsText)];
}

function contributorsText({ title, key, contributors, contributorsAfterCalibration }: ToleranceRequirement): string {
  const list = (contributorsOf: readonly Contributor[]) =>
    contributorsOf
      .slice(0, shownContributors)
      .map((contributor) => `${contributor.title} ${sharePercent(contributor.share)}`)
      .join(', ');
  const after = key.startsWith('focus.') ? `; after calibration ${list(contributorsAfterCalibration)}` : '';
  return `  ${title}: ${list(contributors)}${after}`;
}
