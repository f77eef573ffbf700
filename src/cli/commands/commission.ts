import type { Command } from 'commander';
import { cameraAddresses, commissionStation, loadStation } from '../../app/index.js';
import { askOnTerminal } from '../ask-on-terminal.js';
import { cautionFirst } from '../caution-first.js';
import { commissionText } from '../commission-text.js';
import { exitCodes } from '../exit-codes.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { writeResult } from '../output.js';
import { progressOnStderr } from '../progress.js';
import { wholeNumber } from '../whole-number.js';

interface CommissionOptions {
  camera: string;
  out?: string;
  seed?: number;
  json?: boolean;
}

/** `focuswright commission STATION --camera ADDRESS` */
export function addCommission(program: Command): void {
  program
    .command('commission')
    .summary('sweep, focus, calibrate and check a station; write the handover folder')
    .description(
      `Identifies camera and lens, sweeps through focus, finds best focus at each target distance, fits the distance calibration, reads the edge response near, middle and far, and writes a handover folder: report.html, results.json, plan.json, station.yaml, the frames as TIFF, SHA256SUMS.\n\nCamera addresses:\n${cameraAddresses.map(({ form, meaning }) => `  ${form.padEnd(16)} ${meaning}`).join('\n')}\n\nCtrl-C parks the lens and saves what was measured (exit code ${exitCodes.cancelled.code}).`,
    )
    .argument('<station>', 'station file (YAML), or the name of a demonstration station')
    .requiredOption('--camera <address>', 'an address of the list above')
    .option(
      '--out <dir>',
      'handover folder to create; it must be new or empty (default: handover-<station>-<date>-<time>)',
    )
    .option(
      '--seed <number>',
      'seed of the simulated station: other hidden build errors, other noise; not for recorded frames',
      wholeNumber,
    )
    .option('--json', 'write the whole record as JSON')
    .action(async (path: string, options: CommissionOptions, command: Command) => {
      if (options.seed !== undefined && options.camera !== 'simulated') {
        command.error('error: --seed belongs to --camera simulated; nothing is drawn for any other. Leave it out.');
      }
      const loaded = await loadStation(path);
      const outFolder = options.out ?? `handover-${loaded.station.station}-${timeStamp(new Date())}`;
      cautionFirst(options.camera, loaded.station);
      const interrupt = cancelOnInterrupt();
      const progress = progressOnStderr();
      try {
        const outcome = await commissionStation({
          loaded,
          cameraAddress: options.camera,
          outFolder,
          seed: options.seed,
          ask: askOnTerminal(interrupt.signal),
          observer: progress.observe,
          signal: interrupt.signal,
        });
        progress.stop();
        writeResult(outcome.record, { json: options.json, text: () => commissionText(outcome) });
        if (outcome.record.state === 'cancelled') process.exitCode = exitCodes.cancelled.code;
        if (outcome.record.state === 'failed') process.exitCode = exitCodes.runFailed.code;
      } finally {
        progress.stop();
        interrupt.release();
      }
    });
}

/** 20260131-142530, local time. */
function timeStamp(now: Date): string {
  const two = (n: number) => String(n).padStart(2, '0');
  return `${now.getFullYear()}${two(now.getMonth() + 1)}${two(now.getDate())}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}`;
}
