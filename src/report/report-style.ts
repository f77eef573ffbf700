import { themeCss } from './theme.js';

/** Style of the report: paper-like, two themes, A4 and Letter. Sizes in rem and px; no outside fonts, no pictures. */
export const reportCss = `${themeCss}
:root { --fw-font-text: Charter, 'Bitstream Charter', 'Liberation Serif', Georgia, serif;
  --fw-font-figure: 'Liberation Sans', Arial, 'Helvetica Neue', sans-serif; }
* { box-sizing: border-box; }
body { margin: 0; background: var(--fw-paper); color: var(--fw-ink); font: 1rem/1.5 var(--fw-font-text); }
main { max-width: 60rem; margin: 0 auto; padding: 2rem 1.25rem 4rem; }
h1 { font-size: 2rem; line-height: 1.15; margin: 0 0 0.5rem; overflow-wrap: anywhere; }
h2 { font-size: 1.25rem; margin: 2.25rem 0 0.5rem; padding-top: 0.5rem; border-top: 2px solid var(--fw-ink); }
p { margin: 0.4rem 0; max-width: 46rem; }
ul { margin: 0.4rem 0; padding-left: 1.2rem; max-width: 46rem; }
.kind { font-family: var(--fw-font-figure); color: var(--fw-ink-soft); margin: 0; }
.soft, .unit, .figure-number { color: var(--fw-ink-soft); }
.mark { border: 2px solid var(--fw-ink); padding: 0.4rem 0.7rem; }
.caution { border: 2px solid var(--fw-ink); border-left-width: 12px; padding: 0 1rem 0.5rem; margin-top: 1.5rem; }
.caution h2 { border: 0; margin-top: 0.25rem; }
.early { border-left: 4px solid var(--fw-ink); padding-left: 0.7rem; }
.main-verdict { font-size: 1.6rem; font-weight: bold; margin: 0; }
.main-verdict svg { width: 1.3rem; height: 1.3rem; }
.verdict { white-space: nowrap; }
.verdict svg { vertical-align: -1px; }
.reasons { list-style: none; padding: 0; }
.reasons li { margin: 0.35rem 0; }
table { border-collapse: collapse; width: 100%; margin: 0.75rem 0; font: 0.875rem/1.4 var(--fw-font-figure); font-variant-numeric: tabular-nums; }
caption { text-align: left; color: var(--fw-ink-soft); padding-bottom: 0.25rem; }
th, td { text-align: left; vertical-align: baseline; padding: 0.3rem 0.75rem 0.3rem 0; overflow-wrap: break-word; }
thead th { border-bottom: 1px solid var(--fw-ink); font-weight: normal; color: var(--fw-ink-soft); }
tbody tr { border-top: 1px solid var(--fw-rule); }
tbody th { font-weight: bold; }
.ledger .why { border-top: 0; }
.ledger .why td { padding: 0 0 0.5rem; color: var(--fw-ink); }
.number { white-space: nowrap; }
.number small { font-size: 0.85em; }
details { margin: 0.2rem 0; }
summary { cursor: pointer; color: var(--fw-ink-soft); }
summary:focus-visible { outline: 2px solid var(--fw-predicted); outline-offset: 2px; }
details > p { margin-left: 1rem; }
pre, code { font-family: 'DejaVu Sans Mono', Menlo, Consolas, monospace; font-size: 0.8rem; }
code { overflow-wrap: anywhere; }
pre { background: var(--fw-paper-tint); padding: 0.6rem 0.8rem; white-space: pre-wrap; overflow-wrap: anywhere; }
dl div { display: grid; grid-template-columns: 15rem 1fr; gap: 0.75rem; padding: 0.2rem 0; border-top: 1px solid var(--fw-rule); font-family: var(--fw-font-figure); font-size: 0.875rem; }
dt { color: var(--fw-ink-soft); }
dd { margin: 0; overflow-wrap: anywhere; }
figure { margin: 1rem 0 1.5rem; }
figcaption { font-weight: bold; margin-bottom: 0.4rem; }
.figure-number { font-weight: normal; }
figure svg { display: block; }
.narrow { display: none; }
.pair { display: grid; grid-template-columns: repeat(auto-fit, minmax(27rem, 1fr)); gap: 0 1rem; }
@media screen and (max-width: 58rem) {
  .pair { display: block; orphans: 1; widows: 1; }
  .ledger summary { display: none; }
  .ledger details p { margin: 0.1rem 0 0; color: var(--fw-ink-soft); }
}
@media screen and (max-width: 40rem) {
  main { padding: 1rem 1rem 3rem; }
  .wide { display: none; }
  .narrow { display: block; }
  dl div { grid-template-columns: 1fr; gap: 0; }
  thead { display: none; }
  table, caption, tbody { display: block; }
  tr { display: flex; flex-wrap: wrap; gap: 0.1rem 1.25rem; }
  tbody th, .why td { flex-basis: 100%; }
  td, tbody th { padding: 0; }
  tbody tr { padding: 0.3rem 0; }
  td[data-column]::before { content: attr(data-column) ': '; color: var(--fw-ink-soft); }
}
@page { size: auto; margin: 16mm 15mm 18mm; @bottom-right { content: counter(page) ' / ' counter(pages); font: 8pt sans-serif; } }
@media print {
  body { font-size: 10pt; }
  main { max-width: none; padding: 0; }
  h1 { font-size: 20pt; }
  h2 { font-size: 13pt; margin-top: 14pt; break-after: avoid; }
  table { font-size: 8.5pt; }
  figure, tr, li, pre, .caution, .mark, dl div { break-inside: avoid; }
  .ledger tbody, table:not(.ledger) { break-inside: avoid; }
  caption, figcaption, thead { break-after: avoid; }
  thead { display: table-header-group; }
  .pair { display: block; orphans: 1; widows: 1; }
  .ledger summary { display: none; }
  .ledger details p { margin: 0.1rem 0 0; color: var(--fw-ink-soft); }
  .pair > figure { display: inline-block; width: 48.5%; margin: 0.5rem 0.4% 0.9rem; vertical-align: top; }
  .pair svg { width: 100%; height: auto; }
  details:not(.long)::details-content { content-visibility: visible; display: block; block-size: auto; }
  p, ul { max-width: none; }
}
`;

/** Words at the head of each printed page of a simulated run. */
export const simulatedPageCss = "@page { @top-right { content: 'SIMULATED'; font: bold 8pt sans-serif; } }\n";
