import { type Command, InvalidArgumentError } from 'commander';
import { loadStation, runTolerance } from '../../app/index.js';
import { stationCountMax } from '../../planning/index.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { writeResult } from '../output.js';
import { stderrBar } from '../stderr-bar.js';
import { toleranceText } from '../tolerance-text.js';

interface ToleranceOptions {
  stations: number;
  seed: number;
  json?: boolean;
}

/** `focuswright tolerance STATION` */
export function addTolerance(program: Command): void {
  program
    .command('tolerance')
    .summary('what share of built stations will meet each requirement')
    .description(
      'Builds the station many times within the tolerances of its parts and its assembly, by a seed, and says what share of them meets each requirement of the task: as built, and after a distance calibration, which wins back offset, gain, focus ring, spacer and focal length. For each requirement the tolerances that matter most are named.',
    )
    .argument('<station>', 'station file (YAML), or the name of a demonstration station')
    .option('--stations <number>', 'stations to build', wholeBetween(1, stationCountMax), 10_000)
    .option('--seed <number>', 'names the drawn stations', wholeBetween(0, 4294967295), 1)
    .option('--json', 'write the whole record as JSON')
    .action(async (path: string, options: ToleranceOptions) => {
      const loaded = await loadStation(path);
      const interrupt = cancelOnInterrupt('cancelling …');
      const bar = stderrBar('{bar} {value}/{total} stations built');
      try {
        const record = await runTolerance(loaded, {
          stationCount: options.stations,
          seed: options.seed,
          onProgress: (doneCount) => bar?.show(doneCount, options.stations),
          signal: interrupt.signal,
        });
        bar?.stop();
        writeResult(record, { json: options.json, text: () => toleranceText(record) });
      } finally {
        bar?.stop();
        interrupt.release();
      }
    });
}

function wholeBetween(min: number, max: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (/^\d+$/.test(text.trim()) && value >= min && value <= max) return value;
    throw new InvalidArgumentError(`It must be a whole number from ${min} to ${max}.`);
  };
}
