import { writeFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { type Command, InvalidArgumentError } from 'commander';
import { loadParts, loadSearchTask, runSearch } from '../../app/index.js';
import { FocuswrightError } from '../../base/index.js';
import { searchSpaceOf } from '../../planning/index.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { writeResult } from '../output.js';
import { searchProgressOnStderr } from '../search-progress.js';
import { searchText } from '../search-text.js';

interface SearchOptions {
  parts?: string;
  top: number;
  rings?: number;
  threads: number;
  save?: number;
  out?: string;
  json?: boolean;
}

/** `focuswright search TASK` */
export function addSearch(program: Command): void {
  program
    .command('search')
    .summary('find the layouts of a parts library that meet a task')
    .description(
      'Tries every combination of sensor, fixed lens, tunable lens, place, gap, spacer, f-number and focus-ring distance of a parts library, ranks those that meet the task by their smallest margin, and says for every part that is in none why. Without --parts the library that ships with the program (invented, generic parts).\n\nTASK is a station file, a file with format and task (and, if wanted, light) alone, or a demonstration station.',
    )
    .argument('<task>', 'file with the task (YAML), or the name of a demonstration station')
    .option('--parts <path>', 'folder of YAML files and CSV tables with parts, or one such file')
    .option('--top <number>', 'layouts to print', countBetween(1, 200), 10)
    .option('--rings <number>', 'focus-ring distances to try (default: 12)', countBetween(1, 1000))
    .option('--threads <number>', 'threads to search in', countBetween(1, 64), Math.min(2, availableParallelism()))
    .option('--save <rank>', 'write the layout of this rank as a station file; needs --out', countBetween(1, 200))
    .option('--out <file>', 'station file to write; it must not exist yet')
    .option('--json', 'write the whole record as JSON')
    .action(async (path: string, options: SearchOptions, command: Command) => {
      if ((options.save === undefined) !== (options.out === undefined)) {
        command.error('error: --save and --out go together: --save 1 --out station.yaml writes the best layout');
      }
      const task = await loadSearchTask(path);
      const parts = await loadParts(options.parts);
      const space = searchSpaceOf({ task, parts, ...(options.rings && { ringCount: options.rings }) });
      const interrupt = cancelOnInterrupt('cancelling the search …');
      const progress = searchProgressOnStderr();
      try {
        const record = await runSearch({
          space,
          threadCount: options.threads,
          onProgress: progress.show,
          signal: interrupt.signal,
        });
        progress.stop();
        if (options.save !== undefined)
          await saveLayout(record.layouts[options.save - 1]?.yaml, options.save, options.out!);
        writeResult(record, { json: options.json, text: () => searchText(record, { top: options.top }) });
      } finally {
        progress.stop();
        interrupt.release();
      }
    });
}

async function saveLayout(yaml: string | undefined, rank: number, file: string): Promise<void> {
  if (yaml === undefined) {
    throw new FocuswrightError('layout-rank-missing', { rank });
  }
  await writeFile(file, yaml, { flag: 'wx' }).catch((cause: NodeJS.ErrnoException) => {
    throw new FocuswrightError(
      cause.code === 'EEXIST' ? 'output-exists' : 'output-not-writable',
      { file },
      { cause, remedy: 'Choose another file with --out; nothing is overwritten.' },
    );
  });
}

function countBetween(min: number, max: number) {
  return (text: string): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < min || value > max) {
      throw new InvalidArgumentError(`allowed: a whole number ${min} … ${max}.`);
    }
    return value;
  };
}
