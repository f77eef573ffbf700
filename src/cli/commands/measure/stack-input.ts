import { availableParallelism } from 'node:os';
import { type Command, InvalidArgumentError } from 'commander';
import {
  type DistanceSource,
  distancesOfSweep,
  handoverFilesOf,
  type LoadedStation,
  loadStation,
  openSweepFolder,
  runStack,
  type StackOutcome,
  type SweepFolder,
} from '../../../app/index.js';
import { FocuswrightError } from '../../../base/index.js';
import { cancelOnInterrupt } from '../../interrupt.js';
import { numberIn, wholeFrom } from './image-options.js';
import { stackProgressOnStderr } from './stack-progress.js';

/** What every measurement on a sweep takes. */
export interface SweepOptions {
  station?: string;
  calibration?: string | false;
  distanceMm?: number;
  stepPx: number;
  threads: number;
  json?: boolean;
}

/** A sub-command that measures on one sweep: `<folder>` and its options. */
export const sweepCommand = (parent: Command, name: string): Command =>
  parent
    .command(name)
    .argument('<folder>', 'folder with frames.csv and the frames of one sweep, or a handover folder')
    .option('--station <file>', "station file, or the name of a demonstration station; a handover's own by default")
    .option('--calibration <file>', "results.json of a handover, for distances; a handover's own by default")
    .option('--no-calibration', 'take distances from the optical model')
    .option(
      '--distance-mm <mm>',
      'target distance of the sweep, where the table holds several',
      numberIn({ above: 0, unit: 'mm' }),
    )
    .option('--step-px <px>', 'step of the map, a multiple of 8', stepOf, 8)
    .option('--threads <number>', 'threads', wholeFrom(1), Math.min(8, availableParallelism()))
    .option('--json', 'write the whole record as JSON');

function stepOf(text: string): number {
  const value = Number(text);
  if (value >= 8 && value <= 64 && value % 8 === 0) return value;
  throw new InvalidArgumentError('It must be 8, 16, 24 … 64 pixels.');
}

/** A sweep that was worked through. */
export interface StackedSweep {
  sweep: SweepFolder;
  loaded: LoadedStation;
  source: DistanceSource;
  outcome: StackOutcome;
}

/** Opens the sweep and its station and works through the frames, with progress; Ctrl-C cancels. */
export async function stackOf(
  folder: string,
  options: SweepOptions,
  { fuse }: { fuse: boolean },
): Promise<StackedSweep> {
  const handover = await handoverFilesOf(folder);
  const stationFile = options.station ?? handover.station;
  if (stationFile === null) {
    throw new FocuswrightError('station-needed', { folder });
  }
  const sweep = await openSweepFolder(folder, { distanceMm: options.distanceMm });
  const loaded = await loadStation(stationFile);
  const calibrationFile = options.calibration === false ? null : (options.calibration ?? handover.results);
  const { distanceOf, source } = await distancesOfSweep({ rows: sweep.rows, station: loaded.station, calibrationFile });
  const interrupt = cancelOnInterrupt('cancelling …');
  const progress = stackProgressOnStderr();
  try {
    const outcome = await runStack({
      sweep,
      station: loaded.station,
      distanceOf,
      blockPx: options.stepPx,
      threadCount: Math.min(options.threads, sweep.rows.length),
      fuse,
      onProgress: progress.show,
      signal: interrupt.signal,
    });
    return { sweep, loaded, source, outcome };
  } finally {
    progress.stop();
    interrupt.release();
  }
}

/** Where the distances come from, in words. */
export const sourceText = (source: DistanceSource): string =>
  source.kind === 'calibration'
    ? `distances by the calibration ${source.file}`
    : 'distances by the optical model of the station file (no calibration given)';
