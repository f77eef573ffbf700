import { element, styleSheet } from './markup.js';
import { reportCss, simulatedPageCss } from './report-style.js';
import { autofocusSection } from './sections/autofocus.js';
import { calibrationSection } from './sections/calibration.js';
import { cautionSection, closingMarkup, headingSection, verdictSection } from './sections/heading.js';
import { ledgerSection } from './sections/ledger.js';
import { budgetSection, layoutSection, sharpnessSection } from './sections/optics.js';
import { FigureBlocks } from './sections/parts.js';
import { assumptionSection, provenanceSection, recomputeSection } from './sections/provenance.js';
import { resolutionSection } from './sections/resolution.js';
import type { HandoverInput } from './sections/run.js';

export type { FramePicture, HandoverInput } from './sections/run.js';

/**
 * The handover report of a commissioning run: one HTML file that needs nothing else, for screen (light, dark, narrow) and
 * paper (A4, Letter).
 *
 * Returns  a whole document, well-formed as XML after its first line. A run that was cancelled, failed or refused shows
 *          what there is and says what is missing.
 * Trust    holds no number of its own: every one stands in the records it is given. `simulated` and `invented` are marked
 *          in words at the head; simulated ones also in the ledger, at each figure and on each printed page.
 * Source   docs/report/handover-report.md
 */
export function handoverReportHtml(input: HandoverInput): string {
  const { commission } = input;
  const figures = new FigureBlocks(commission.simulated);
  const document = element(
    'html',
    { lang: 'en' },
    element(
      'head',
      {},
      element('meta', { charset: 'utf-8' }),
      element('meta', { name: 'viewport', content: 'width=device-width, initial-scale=1' }),
      element('title', {}, `${commission.station}: handover report${commission.simulated ? ' (simulated)' : ''}`),
      styleSheet(commission.simulated ? reportCss + simulatedPageCss : reportCss),
    ),
    element(
      'body',
      {},
      element(
        'main',
        {},
        headingSection(input),
        verdictSection(input),
        cautionSection(input),
        ledgerSection(input),
        layoutSection(input, figures),
        sharpnessSection(input, figures),
        autofocusSection(input, figures),
        calibrationSection(input, figures),
        resolutionSection(input, figures),
        budgetSection(input, figures),
        provenanceSection(input),
        assumptionSection(input),
        recomputeSection(input),
        closingMarkup(),
      ),
    ),
  );
  return `<!doctype html>\n${document.markup}\n`;
}
