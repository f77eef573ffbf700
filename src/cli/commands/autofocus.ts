import { type Command, Option } from 'commander';
import { cameraAddresses, loadStation, runAutofocusOn } from '../../app/index.js';
import { focusMeasureNames, type Region } from '../../image/index.js';
import { type AutofocusResult, type FocusMethodName, focusMethodNames } from '../../station/index.js';
import { autofocusText, probeLine } from '../autofocus-text.js';
import { cautionFirst } from '../caution-first.js';
import { exitCodes } from '../exit-codes.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { withMinusSigns, writeResult } from '../output.js';
import { parsePowerRange } from '../power-range.js';
import { parseRoiOrAuto, regionsOf, roiOptionHelp } from '../roi-option.js';
import { wholeNumber } from '../whole-number.js';
import { numberIn } from './measure/image-options.js';

interface AutofocusOptions {
  camera: string;
  station?: string;
  method: FocusMethodName;
  roi?: Region[] | 'auto';
  combine: 'nearest' | 'farthest' | 'each';
  measure?: (typeof focusMeasureNames)[number];
  fit?: 'gaussian' | 'parabola';
  range?: [number, number];
  distance?: number;
  seed?: number;
  park?: boolean;
  forgetLearned?: boolean;
  record?: string;
  json?: boolean;
}

/** `focuswright autofocus --camera ADDRESS` */
export function addAutofocus(program: Command): void {
  program
    .command('autofocus')
    .summary('find best focus on a camera, or say why it cannot be trusted')
    .description(
      `Finds the focal power at which a region is sharpest, and leaves the lens there. Where focus cannot be trusted it says so, with the reason and what to do, and parks the lens.\n\nWays to look (--method):\n${methodLines()}\n\nCamera addresses:\n${cameraAddresses.map(({ form, meaning }) => `  ${form.padEnd(16)} ${meaning}`).join('\n')}\n\nExit codes: ${exitCodes.done.code} found (with several regions: at least one), ${exitCodes.refused.code} refused, ${exitCodes.badInput.code} wrong use, ${exitCodes.runFailed.code} device trouble, ${exitCodes.cancelled.code} cancelled.`,
    )
    .requiredOption('--camera <address>', 'an address of the list above')
    .option(
      '--station <file>',
      'station file, or the name of a demonstration station: its optics, sensor, lens and limits',
    )
    .addOption(new Option('--method <name>', 'how to look for focus').choices(focusMethodNames).default('model'))
    .option('--roi <x,y,w,h>', roiOptionHelp, parseRoiOrAuto)
    .addOption(
      new Option('--combine <choice>', 'of several regions: stay at the nearest, at the farthest, or park after each')
        .choices(['nearest', 'farthest', 'each'])
        .default('nearest'),
    )
    .addOption(new Option('--measure <name>', 'focus measure of the classic searches').choices(focusMeasureNames))
    .addOption(new Option('--fit <shape>', 'fit of full-sweep').choices(['gaussian', 'parabola']))
    .option(
      '--range <low,high>',
      'powers to stay inside, in dpt (default: the limits of lens and station)',
      parsePowerRange,
    )
    .option(
      '--distance <mm>',
      'distance to bring the target to first; simulated and recorded cameras only',
      numberIn({ above: 0, unit: 'mm' }),
    )
    .option('--seed <number>', 'seed of the simulated station', wholeNumber)
    .option('--park', 'park the lens also when focus was found')
    .option('--forget-learned', 'forget first how this camera blurs, as learned in earlier runs without --station')
    .option(
      '--record <dir>',
      'record the search in a new folder: all frames, calls and the result, to run it again with --camera replay:DIR; scales learned in earlier runs are left aside',
    )
    .option('--json', 'write the whole record as JSON')
    .action(async (options: AutofocusOptions, command: Command) => {
      refuseUnfit(options, command);
      const loaded = options.station === undefined ? null : await loadStation(options.station);
      cautionFirst(options.camera, loaded?.station ?? null);
      const interrupt = cancelOnInterrupt('cancelling; the lens is parked …');
      try {
        const report = await runAutofocusOn({
          cameraAddress: options.camera,
          loaded,
          method: options.method,
          regions: regionsOf(options.roi),
          choice: options.combine,
          ...(options.measure && { measure: options.measure }),
          ...(options.fit && { fit: options.fit }),
          powerRangeDpt: options.range ?? null,
          workingDistanceMm: options.distance ?? null,
          ...(options.seed !== undefined && { seed: options.seed }),
          ...(options.forgetLearned && { forgetLearned: true }),
          park: options.park ?? false,
          ...(options.record !== undefined && { recordFolder: options.record }),
          signal: interrupt.signal,
          onFrame: (probe) => process.stderr.write(`${withMinusSigns(probeLine(probe))}\n`),
        });
        writeResult(report, { json: options.json, text: () => autofocusText(report) });
        process.exitCode = exitCodeOfResults(report.results);
      } finally {
        interrupt.release();
      }
    });
}

/** A camera or lens that failed the search is another end than a region that cannot be trusted. */
function exitCodeOfResults(results: readonly AutofocusResult[]): number {
  const refusals = results.filter((result) => result.kind === 'refused');
  if (refusals.length < results.length) return exitCodes.done.code;
  return refusals.some(({ reason }) => reason === 'device') ? exitCodes.runFailed.code : exitCodes.refused.code;
}

/** Options that would change nothing end the command. */
function refuseUnfit(options: AutofocusOptions, command: Command): void {
  const { camera, station, method, measure, fit, seed, distance, forgetLearned, record } = options;
  if (record !== undefined && forgetLearned) {
    command.error('error: with --record nothing learned is used. Leave --forget-learned out.');
  }
  if (forgetLearned && (method !== 'model' || station !== undefined)) {
    command.error('error: --forget-learned belongs to --method model without --station. Leave it out.');
  }
  if (method === 'model' && measure) {
    command.error('error: --measure belongs to the classic searches; --method model has none. Leave it out.');
  }
  if (method !== 'full-sweep' && fit) command.error('error: --fit belongs to --method full-sweep. Leave it out.');
  if (camera !== 'simulated' && seed !== undefined) {
    command.error('error: --seed belongs to --camera simulated. Leave it out.');
  }
  if (!/^(simulated|frames:.*|replay:.*)$/.test(camera) && distance !== undefined) {
    command.error('error: --distance belongs to simulated and recorded cameras: the tool moves no real part.');
  }
}

const meanings: Record<FocusMethodName, string> = {
  model: 'likelihood from the optics; mostly three frames',
  'full-sweep': 'sixty powers over the whole range, then a fit (--fit)',
  'hill-climb': 'uphill in steps that get finer',
  fibonacci: 'section search with the fewest looks',
  'golden-section': 'section search by the golden ratio',
};

const methodLines = () => focusMethodNames.map((name) => `  ${name.padEnd(15)} ${meanings[name]}`).join('\n');
