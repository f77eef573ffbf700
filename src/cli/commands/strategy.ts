import { writeFile } from 'node:fs/promises';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { loadStation, runFocusStrategy } from '../../app/index.js';
import { FocuswrightError } from '../../base/index.js';
import { focusStrategyFigure } from '../../report/index.js';
import { type FocusMethodName, focusMethodNames } from '../../station/index.js';
import { cancelOnInterrupt } from '../interrupt.js';
import { writeResult } from '../output.js';
import { stderrBar } from '../stderr-bar.js';
import { strategyText } from '../strategy-text.js';
import { wholeNumber } from '../whole-number.js';

interface StrategyOptions {
  scenes: number;
  seed: number;
  methods: FocusMethodName[];
  figure?: string;
  json?: boolean;
}

/** `focuswright strategy STATION` */
export function addStrategy(program: Command): void {
  program
    .command('strategy')
    .summary('which search for focus suits a station: frames, time and certainty over the light')
    .description(
      'Predicts how well autofocus can do on a station over the light and what limits it, then tries every search on seeded scenes of the simulated station: other targets, distances, light and build errors. No hardware is needed. 1000 scenes with every search take about half an hour of processor time; --scenes 50 gives a first idea, --scenes 0 the prediction alone.',
    )
    .argument('<station>', 'station file (YAML), or the name of a demonstration station')
    .option('--scenes <number>', 'simulated scenes to try', wholeNumber, 1000)
    .option('--seed <number>', 'names the drawn scenes', wholeNumber, 1)
    .addOption(
      new Option('--methods <list>', `searches to try, with commas between, of ${focusMethodNames.join(', ')}`)
        .argParser(parseMethods)
        .default([...focusMethodNames], 'all'),
    )
    .option('--figure <file>', 'write the figure as SVG; the file must not exist yet')
    .option('--json', 'write the whole record as JSON')
    .action(async (path: string, options: StrategyOptions) => {
      const loaded = await loadStation(path);
      const interrupt = cancelOnInterrupt('cancelling …');
      const bar = stderrBar('{bar} {value}/{total} scenes tried');
      const tell = bar ? (done: number) => bar.show(done, options.scenes) : lineEveryTenth(options.scenes);
      try {
        const record = await runFocusStrategy(loaded, {
          sceneCount: options.scenes,
          seed: options.seed,
          methods: options.methods,
          onProgress: tell,
          signal: interrupt.signal,
        });
        bar?.stop();
        if (options.figure !== undefined) {
          await writeNew(
            options.figure,
            focusStrategyFigure({ strategy: record }, { widthPx: 820, heightPx: 420 }).svg,
          );
        }
        writeResult(record, { json: options.json, text: () => strategyText(record) });
      } finally {
        bar?.stop();
        interrupt.release();
      }
    });
}

/** Where standard error is no terminal: a line for each tenth that is done. */
function lineEveryTenth(total: number): (doneCount: number) => void {
  return (doneCount) => {
    const tenth = (count: number) => Math.floor((10 * count) / total);
    if (tenth(doneCount) > tenth(doneCount - 1)) process.stderr.write(`${doneCount} of ${total} scenes tried\n`);
  };
}

async function writeNew(file: string, text: string): Promise<void> {
  await writeFile(file, text, { flag: 'wx' }).catch((cause: NodeJS.ErrnoException) => {
    throw new FocuswrightError(
      cause.code === 'EEXIST' ? 'output-exists' : 'output-not-writable',
      { file },
      { cause, remedy: 'Choose another file with --figure; nothing is overwritten.' },
    );
  });
}

function parseMethods(text: string): FocusMethodName[] {
  const names = text.split(',').map((name) => name.trim()) as FocusMethodName[];
  if (names.some((name) => !focusMethodNames.includes(name))) {
    throw new InvalidArgumentError(`It must be a list such as model,fibonacci of ${focusMethodNames.join(', ')}.`);
  }
  return [...new Set(names)];
}
