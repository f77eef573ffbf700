import type { LedgerRow } from '../../base/index.js';
import { notMeasured } from '../../station/index.js';
import { byUrgency } from '../ledger-text.js';
import { element, type Markup } from '../markup.js';
import { paragraph, section, verdictMarkup } from './parts.js';
import { type HandoverInput, missingParts } from './run.js';

/** Station, marks that stay for ever, and what was asked of it. */
export function headingSection({ commission, station, generatedOn }: HandoverInput): Markup {
  const { device, provenance } = commission;
  return element(
    'header',
    {},
    element('p', { class: 'kind' }, 'Handover report'),
    element('h1', {}, commission.station),
    paragraph(station.task.description),
    commission.simulated &&
      element(
        'p',
        { class: 'mark' },
        element('strong', {}, 'SIMULATED.'),
        ' Every number called measured comes from the simulated station, not from a camera and a lens.',
      ),
    commission.invented &&
      element(
        'p',
        { class: 'mark' },
        element('strong', {}, 'INVENTED DEMONSTRATION DATA.'),
        ' This station describes no real installation.',
      ),
    element(
      'p',
      { class: 'soft' },
      `${device.model} with ${device.lensModel} · made on ${generatedOn} · Focuswright ${provenance.softwareVersion}`,
    ),
  );
}

/** The verdict with reasons and remedies; what is missing from a run that ended early. */
export function verdictSection({ commission }: HandoverInput): Markup {
  const open = byUrgency(commission.ledger).filter((row) => row.verdict !== 'meets');
  const missing = missingParts(commission);
  const ended = { complete: 'is complete', cancelled: 'was cancelled', failed: 'failed' }[commission.state];
  return section(
    'verdict',
    'Verdict',
    element('p', { class: 'main-verdict' }, verdictMarkup(commission.verdict)),
    commission.state !== 'complete' &&
      element(
        'p',
        { class: 'early' },
        element('strong', {}, `The run ${ended}`),
        commission.stateReason === null ? '. ' : `. ${sentence(commission.stateReason)} `,
        'What was measured until then stands below.',
      ),
    missing.length > 0 &&
      paragraph(
        element('strong', {}, 'Missing: '),
        `${missing.join('; ')}. Run the commissioning again to complete it.`,
      ),
    commission.ledger.length > 0 &&
      paragraph(open.length === 0 && 'Every requirement of the task is met. ', restsOn(commission.ledger)),
    commission.ledger.length === 0 && paragraph('No requirement was decided.'),
    open.length > 0 &&
      element(
        'ul',
        { class: 'reasons' },
        open.map((row) =>
          element(
            'li',
            {},
            verdictMarkup(row.verdict),
            element('strong', {}, ` ${row.title}. `),
            `${sentence(row.reason)} `,
            row.remedy !== null && element('em', {}, sentence(row.remedy)),
          ),
        ),
      ),
  );
}

/** How much of a verdict was measured. */
function restsOn(ledger: readonly LedgerRow[]): string {
  const predictedAlone = ledger.filter(({ measuredInWords }) => measuredInWords === notMeasured).length;
  const measured = ledger.filter(
    (row) => row.measured !== null || (row.measuredInWords !== undefined && row.measuredInWords !== notMeasured),
  ).length;
  const open = ledger.length - measured - predictedAlone;
  return `Of ${ledger.length} quantities ${measured} were measured and ${predictedAlone} rest on prediction alone${open > 0 ? `; ${open} are open` : ''}.`;
}

/** A labelled band with what can hurt somebody or something; null where the run names no caution. */
export function cautionSection({ commission }: HandoverInput): Markup | null {
  if (commission.cautions.length === 0) return null;
  const items = commission.cautions.map((caution) => element('li', {}, sentence(caution)));
  return element(
    'section',
    { id: 'cautions', class: 'caution' },
    element('h2', {}, 'Caution'),
    element('ul', {}, items),
  );
}

/** What every report says of its numbers. */
export const closingMarkup = (): Markup =>
  element(
    'footer',
    { class: 'soft' },
    paragraph(
      'The numbers in this report are aids to an engineer’s judgement. The maker’s datasheet, local codes and licensed practice decide.',
    ),
  );

/** Begins with a capital and ends with a full stop, unless it ends a sentence already. */
export function sentence(text: string): string {
  const [first = '', ...rest] = text.trim();
  const whole = first.toUpperCase() + rest.join('');
  return /[.!?…]$/.test(whole) ? whole : `${whole}.`;
}
