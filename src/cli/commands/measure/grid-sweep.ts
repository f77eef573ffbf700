import { type GridSweep, loadStation, openSweepFolder, runGridSweep, softwareVersion } from '../../../app/index.js';
import { estimateInWords, formatEstimate, formatNumber, scaleOverPowerFigure } from '../../../report/index.js';
import { exitCodes } from '../../exit-codes.js';
import { cancelOnInterrupt } from '../../interrupt.js';
import { textTable, withMinusSigns, writeResult } from '../../output.js';
import { stderrBar } from '../../stderr-bar.js';
import type { GridOptions } from './grid.js';
import { refusalText } from './write-measurement.js';
import { writeSvg } from './write-svg.js';

/** Change of scale with focal power over a folder of frames; Ctrl-C cancels. */
export async function measureGridSweep(folder: string, options: GridOptions): Promise<void> {
  const loaded = options.station === undefined ? null : await loadStation(options.station);
  const sweep = await openSweepFolder(folder, { distanceMm: options.distanceMm });
  const interrupt = cancelOnInterrupt('cancelling …');
  const bar = stderrBar('{bar} {value}/{total} frames');
  try {
    const swept = await runGridSweep({
      sweep,
      pitchMm: options.pitchMm,
      pattern: options.pattern,
      station: loaded?.station ?? null,
      onProgress: (done, total) => bar?.show(done, total),
      signal: interrupt.signal,
    });
    bar?.stop();
    const { change, frames, predicted } = swept;
    if (change.kind === 'refused') process.exitCode = exitCodes.refused.code;
    else if (options.svg) {
      const figure = scaleOverPowerFigure({ change, points: frames }, { widthPx: 800, heightPx: 480 });
      await writeSvg(options.svg, figure);
    }
    const { widthPx, heightPx, bitDepth } = sweep;
    const station = loaded && { station: loaded.station.station, stationSha256: loaded.sha256 };
    const about = { folder, widthPx, heightPx, bitDepth, pitchMm: options.pitchMm, softwareVersion, ...station };
    writeResult(
      { kind: change.kind, ...about, change, predicted, frames },
      {
        json: options.json,
        text: () => sweepText(swept),
      },
    );
  } finally {
    bar?.stop();
    interrupt.release();
  }
}

function sweepText({ change, predicted, frames }: GridSweep): string {
  const hasPrediction = frames.some(({ predictedPixelMm }) => predictedPixelMm !== null);
  const table = textTable([
    ['dpt', 'a pixel, mm', 'std', ...(hasPrediction ? ['predicted, mm'] : []), 'file'],
    ...frames.map(({ focalPowerDpt, pixelMm, pixelStdMm, predictedPixelMm, refusal, file }) => {
      const shown = pixelMm === null ? null : formatEstimate({ value: pixelMm, std: pixelStdMm }, 'mm');
      return [
        focalPowerDpt.toFixed(3),
        shown?.value ?? '–',
        shown?.uncertainty ?? '',
        ...(hasPrediction ? [predictedPixelMm === null ? '–' : formatNumber(predictedPixelMm, 6)] : []),
        refusal === null ? file : `${file}: ${refusal}`,
      ];
    }),
  ]);
  if (change.kind === 'refused') return withMinusSigns(`${refusalText(change)}\n\n${table}`);
  return withMinusSigns(
    [
      `a pixel is ${estimateInWords(change.pixelMm, 'mm')} on the target at ${change.meanPowerDpt.toFixed(3)} dpt`,
      `it changes by ${estimateInWords(change.pixelMmPerDpt, 'mm')} per dpt: ${percentInWords(change.relativePerDpt)} per dpt`,
      ...(predicted?.kind === 'measured'
        ? [
            `predicted by the station: ${formatNumber(predicted.pixelMm.value, 5)} mm there, ${percentInWords({ value: predicted.relativePerDpt.value, std: null })} per dpt`,
          ]
        : []),
      `the points scatter by ${formatNumber(change.residualRmsMm * 1000)} µm about the line${change.reducedChiSquare === null ? '' : `; χ² per degree of freedom ${formatNumber(change.reducedChiSquare)}`}`,
      '',
      table,
    ].join('\n'),
  );
}

/** A share with its deviation, in per cent. */
export const percentInWords = ({ value, std }: { value: number; std: number | null }): string =>
  estimateInWords({ value: 100 * value, std: std === null ? null : 100 * std }, '%');
