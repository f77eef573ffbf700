import type { Command } from 'commander';
import { requireNewFolder, softwareVersion, writeStackFolder } from '../../../app/index.js';
import { counted } from '../../../base/index.js';
import { heightPicture } from '../../../image/index.js';
import { sharePercent, withUnit } from '../../../report/index.js';
import { exitCodes } from '../../exit-codes.js';
import { writeResult } from '../../output.js';
import { type StackedSweep, type SweepOptions, sourceText, stackOf, sweepCommand } from './stack-input.js';
import { refusalText } from './write-measurement.js';

/** `focuswright measure stack FOLDER --out DIR` */
export function addMeasureStack(measure: Command): void {
  sweepCommand(measure, 'stack')
    .summary('height map and all-in-focus picture of a sweep')
    .description(
      'Turns a sweep of the focal power over a textured surface into heights in mm and one picture that is sharp everywhere. The curve through focus of every place is fitted with the one that the optical model predicts; breathing is taken out by the model. Places without texture, with two depths or with their focus outside the sweep get no height. Writes all-in-focus.png, height.tif (16 bit, its scale in stack.json), height-mm.tif and uncertainty-mm.tif (32-bit real), confidence.png, height.svg and stack.json into a new folder.',
    )
    .requiredOption('--out <dir>', 'new folder for the results')
    .action(async (folder: string, options: SweepOptions & { out: string }) => {
      await requireNewFolder(options.out);
      const stacked = await stackOf(folder, options, { fuse: true });
      const record = recordOf(folder, options, stacked);
      const { outcome } = stacked;
      if (outcome.kind === 'stacked') await writeStackFolder(options.out, { outcome, record });
      else process.exitCode = exitCodes.refused.code;
      writeResult(record, { json: options.json, text: () => stackText(stacked, options.out) });
    });
}

function recordOf(
  folder: string,
  options: SweepOptions & { out: string },
  { sweep, loaded, source, outcome }: StackedSweep,
): object {
  const { widthPx, heightPx, bitDepth, rows } = sweep;
  const about = {
    folder,
    station: loaded.station.station,
    stationSha256: loaded.sha256,
    distances: source,
    simulated: rows.some((row) => row.source?.startsWith('sim:') === true),
    softwareVersion,
  };
  if (outcome.kind === 'refused') return { ...about, ...outcome };
  const { heights, picture: _, kind, ...rest } = outcome;
  const { summary, zeroWorkingDistanceMm, depthOfFieldMm, columns, rows: mapRows } = heights;
  const { scaleMm, offsetMm } = heightPicture(heights);
  return {
    kind,
    ...about,
    out: options.out,
    widthPx,
    heightPx,
    bitDepth,
    ...rest,
    map: { columns, rows: mapRows, stepPx: options.stepPx, zeroWorkingDistanceMm, depthOfFieldMm },
    ...summary,
    height16: { file: 'height.tif', scaleMm, offsetMm, noHeight: 0 },
  };
}

function stackText({ source, outcome }: StackedSweep, out: string): string {
  if (outcome.kind === 'refused') return refusalText(outcome);
  const { heights, frames, powerMinDpt, powerMaxDpt, breathingFraction } = outcome;
  const { summary } = heights;
  const refusals = summary.refusedFractions.map(({ reason, fraction }) => `${sharePercent(fraction)} ${reason}`);
  return [
    `${counted(frames, 'frame')} from ${powerMinDpt} to ${powerMaxDpt} dpt; ${sourceText(source)}`,
    `heights ${withUnit(summary.minMm, 'mm')} to ${withUnit(summary.maxMm, 'mm')} above ${heights.zeroWorkingDistanceMm} mm working distance, positive towards the lens`,
    `standard uncertainty ${withUnit(summary.uncertaintyRmsMm, 'mm')} rms (depth of field ${withUnit(heights.depthOfFieldMm, 'mm')}); ${withUnit(summary.aboutPlaneRmsMm, 'mm')} rms about a plane`,
    `${sharePercent(summary.validFraction)} of the picture has a height${refusals.length ? `; the rest: ${refusals.join(', ')}` : ''}`,
    `breathing of ${sharePercent(breathingFraction)} taken out; map and picture belong to ${outcome.referenceFile}`,
    `written to ${out}`,
  ].join('\n');
}
