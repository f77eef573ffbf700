import { type Command, InvalidArgumentError, Option } from 'commander';
import { cameraAddresses, loadStation, type PartTrigger, runFollow } from '../../app/index.js';
import { type FocusMethodName, focusMethodNames, type PartsSummary } from '../../station/index.js';
import { cautionFirst } from '../caution-first.js';
import { exitCodes } from '../exit-codes.js';
import { begunText, partLine, partsText } from '../follow-text.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { withMinusSigns } from '../output.js';
import { parsePowerRange } from '../power-range.js';
import { parseRoiOrAuto, type RoiOption, regionsOf, roiOptionHelp } from '../roi-option.js';
import { wholeNumber } from '../whole-number.js';
import { wholeFrom } from './measure/image-options.js';

interface FollowOptions {
  camera: string;
  station?: string;
  trigger?: string;
  parts?: number;
  distances?: number[] | 'drawn';
  untold?: boolean;
  calibration?: string;
  method: FocusMethodName;
  roi?: RoiOption;
  range?: [number, number];
  seed?: number;
  forgetLearned?: boolean;
  json?: boolean;
}

/** `focuswright follow --camera ADDRESS` */
export function addFollow(program: Command): void {
  program
    .command('follow')
    .summary('keep focus on parts that arrive at changing distance')
    .description(
      `Searches for the best focus of each part that arrives. A search begins at the power that the part’s distance says, where somebody tells it, else where the last part left the lens. A refused part is told and the lens goes back to the last good power; at the end, and on Ctrl-C, the lens is parked.\n\nWhat says that a part is there (--trigger):\n  stage        the simulated (or recorded) target is brought to --distances in turn\n  stdin        a line on standard input; a number on it is the part’s distance in mm, as a gauge tells\n  line:NAME    a frame that this input line of the camera triggers\n  at-once      nothing: the next search begins when the last has ended\n\nCamera addresses:\n${cameraAddresses.map(({ form, meaning }) => `  ${form.padEnd(16)} ${meaning}`).join('\n')}\n\nExit codes: ${exitCodes.done.code} ended as asked (without --parts also by Ctrl-C), ${exitCodes.refused.code} every part was refused, ${exitCodes.badInput.code} wrong use, ${exitCodes.runFailed.code} device trouble, ${exitCodes.cancelled.code} cancelled before --parts were done.`,
    )
    .requiredOption('--camera <address>', 'an address of the list above')
    .option('--station <file>', 'station file, or the name of a demonstration station')
    .option('--trigger <what>', 'what says that a part is there (default: stage on simulated and recorded cameras)')
    .option('--parts <number>', 'parts to focus on (default: until Ctrl-C, or the end of standard input)', wholeFrom(1))
    .option(
      '--distances <mm,mm,…>',
      'distances that the stage brings the target to, in turn; `drawn`: anywhere in the task’s range, by the seed',
      parseDistances,
    )
    .option('--untold', 'the search is not told the distances of the stage')
    .option('--calibration <file>', 'results.json of a handover: its distance calibration says where to look first')
    .addOption(new Option('--method <name>', 'how to look for focus').choices(focusMethodNames).default('model'))
    .option('--roi <x,y,w,h>', `${roiOptionHelp}; here one region, the same for all parts`, parseRoiOrAuto)
    .option(
      '--range <low,high>',
      'powers to stay inside, in dpt (default: the limits of lens and station)',
      parsePowerRange,
    )
    .option('--seed <number>', 'seed of the simulated station and of drawn distances', wholeNumber)
    .option('--forget-learned', 'forget first how this camera blurs, as learned in earlier runs without --station')
    .option('--json', 'write JSON lines: what was begun, each part, and the summary')
    .action(async (options: FollowOptions, command: Command) => {
      const trigger = triggerOf(options, command);
      const regions = regionsOf(options.roi);
      if (Array.isArray(regions) && regions.length > 1) command.error('error: follow takes one --roi; give one.');
      const loaded = options.station === undefined ? null : await loadStation(options.station);
      cautionFirst(options.camera, loaded?.station ?? null);
      const interrupt = cancelOnInterrupt('ending; the lens is parked …');
      const write = (record: unknown, text: string) =>
        process.stdout.write(`${options.json ? JSON.stringify(record) : withMinusSigns(text)}\n`);
      try {
        const summary = await runFollow({
          cameraAddress: options.camera,
          loaded,
          method: options.method,
          region: typeof regions === 'string' ? regions : regions[0]!,
          trigger,
          partCount: options.parts ?? null,
          calibrationFile: options.calibration ?? null,
          powerRangeDpt: options.range ?? null,
          ...(options.seed !== undefined && { seed: options.seed }),
          ...(options.forgetLearned && { forgetLearned: true }),
          signal: interrupt.signal,
          onStart: (begun) => write(begun, begunText(begun)),
          onPart: (part) => write(part, partLine(part)),
        });
        write(summary, partsText(summary));
        process.exitCode = exitCodeOf(summary, options.parts !== undefined);
      } finally {
        interrupt.release();
      }
    });
}

/** Without a count Ctrl-C is the way to end. */
function exitCodeOf({ state, partCount, foundCount }: PartsSummary, isCounted: boolean): number {
  if (state === 'device') return exitCodes.runFailed.code;
  if (state === 'cancelled' && isCounted) return exitCodes.cancelled.code;
  return partCount > 0 && foundCount === 0 ? exitCodes.refused.code : exitCodes.done.code;
}

const isStaged = (camera: string) => /^(simulated|frames:.*)$/.test(camera);

/** Options that would change nothing end the command. */
function triggerOf(options: FollowOptions, command: Command): PartTrigger {
  const { camera, trigger, distances, untold, seed } = options;
  if (options.forgetLearned && (options.method !== 'model' || options.station !== undefined)) {
    return command.error('error: --forget-learned belongs to --method model without --station. Leave it out.');
  }
  const kind = trigger ?? (isStaged(camera) || distances !== undefined ? 'stage' : undefined);
  if (kind === undefined) {
    return command.error('error: say with --trigger what tells that a part is there: stdin, line:NAME or at-once.');
  }
  if (kind !== 'stage' && (distances !== undefined || untold)) {
    return command.error('error: --distances and --untold belong to --trigger stage. Leave them out.');
  }
  if (camera !== 'simulated' && distances !== 'drawn' && seed !== undefined) {
    return command.error('error: --seed belongs to --camera simulated and to drawn distances. Leave it out.');
  }
  if (kind === 'stage') return { kind, distancesMm: distances ?? 'drawn', isTold: untold !== true };
  if (kind === 'at-once') return { kind };
  if (kind === 'stdin') return { kind: 'lines', input: process.stdin };
  const line = /^line:(\S+)$/.exec(kind)?.[1];
  if (line === undefined) {
    return command.error(`error: --trigger “${kind}” is none of stage, stdin, line:NAME, at-once.`);
  }
  return { kind: 'input-line', line };
}

/** Reads `mm,mm,…` or `drawn`. */
function parseDistances(text: string): number[] | 'drawn' {
  if (text === 'drawn') return text;
  const distances = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
  if (distances.some((mm) => !(mm > 0 && mm <= 1e6))) {
    throw new InvalidArgumentError(
      'It must be working distances in mm, > 0, with commas between, e.g. 340,420,515; or drawn.',
    );
  }
  return distances;
}
