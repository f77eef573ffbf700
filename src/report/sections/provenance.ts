import { formatNumber, withUnit } from '../format-number.js';
import { type Child, element, type Markup } from '../markup.js';
import { foldable, paragraph, section, table } from './parts.js';
import type { HandoverInput } from './run.js';

/** Device, inputs, seed, version, frames with their hashes: what a number rests on. */
export function provenanceSection({ commission, plan, stationYaml }: HandoverInput): Markup {
  const { provenance, device, frames } = commission;
  const facts: [string, Child][] = [
    ['Procedure', provenance.procedure],
    ['Device', `${provenance.device} (${device.model}, ${device.lensModel})`],
    ['Data', commission.simulated ? 'simulated' : 'from the device named above'],
    ['Seed', provenance.seed === null ? 'none: no random numbers were drawn' : String(provenance.seed)],
    ['Software', `Focuswright ${provenance.softwareVersion}`],
    ['Begun', commission.startedOn],
    ['Time on the camera’s clock', withUnit(commission.elapsedMs / 1000, 's')],
    ['Station of the plan, SHA-256', code(plan.stationSha256)],
    ...Object.entries(provenance.inputHashes).map(([name, hash]): [string, Child] => [`${name}, SHA-256`, code(hash)]),
  ];
  return section(
    'provenance',
    'How it was made',
    element(
      'dl',
      {},
      facts.map(([name, value]) => element('div', {}, element('dt', {}, name), element('dd', {}, value))),
    ),
    foldable('Parameters', {}, element('pre', {}, parameterLines(provenance.parameters))),
    frames.length > 0
      ? foldable(
          `The ${frames.length} stored frames with SHA-256`,
          { long: true },
          table(
            'Stored frames',
            ['File', 'Purpose', 'Distance', 'Power', 'Exposure', 'SHA-256'],
            frames.map((frame) => [
              frame.file,
              frame.purpose,
              withUnit(frame.workingDistanceMm, 'mm', 4),
              withUnit(frame.focalPowerDpt, 'dpt', 4),
              frame.exposureMs === null ? 'not known' : withUnit(frame.exposureMs, 'ms'),
              code(frame.sha256),
            ]),
          ),
        )
      : paragraph('No frame was stored.'),
    foldable('Station file', { long: true }, element('pre', {}, stationYaml)),
  );
}

/** What the station file does not say and the plan took instead. */
export function assumptionSection({ plan }: HandoverInput): Markup {
  const { assumptions } = plan;
  return section(
    'assumptions',
    'Assumptions',
    assumptions.length > 0
      ? element(
          'ul',
          {},
          assumptions.map((assumption) => element('li', {}, assumption)),
        )
      : paragraph('None: the station file says everything that the plan needs.'),
  );
}

/** The commands that check the evidence and compute every number again. */
export function recomputeSection({ commission }: HandoverInput): Markup {
  const { seed, device } = commission.provenance;
  const again =
    commission.simulated && device.startsWith('sim:') && seed !== null
      ? [
          `npx focuswright commission HANDOVER/station.yaml --camera simulated --seed ${formatNumber(seed, 10)} --out again`,
        ]
      : [];
  const comparison =
    'Compare the new results.json with the one here. From the stored frames the numbers should agree within their uncertainties: a sweep may take in a frame that another step stored near by.' +
    (again.length > 0
      ? ' With the same seed and software version the simulated station gives the same file but for the date of the start.'
      : '');
  const commands = [
    '(cd HANDOVER && sha256sum --check SHA256SUMS)',
    'npx focuswright plan HANDOVER/station.yaml',
    'npx focuswright commission HANDOVER/station.yaml --camera frames:HANDOVER/frames --out recomputed',
    ...again,
  ];
  return section(
    'recompute',
    'Compute it again',
    paragraph(
      `In a checkout of Focuswright ${commission.provenance.softwareVersion}, built; HANDOVER stands for the folder that holds this report. The first command checks that no file has changed; the others compute plan and results again, from the stored frames.`,
    ),
    element('pre', {}, commands.join('\n')),
    paragraph(comparison),
  );
}

/** One line for each parameter. */
const parameterLines = (parameters: Record<string, unknown>): string =>
  Object.entries(parameters)
    .map(([name, value]) => `${name}: ${JSON.stringify(value) ?? 'none'}`)
    .join('\n');

const code = (text: string): Markup => element('code', {}, text);
