import { stat } from 'node:fs/promises';
import { type Command, Option } from 'commander';
import { readImage } from '../../../app/index.js';
import { type GridPattern, type GridReading, measureGrid } from '../../../image/index.js';
import { distortionMapFigure, estimateInWords, sharePercent, withUnit } from '../../../report/index.js';
import { measureGridSweep, percentInWords } from './grid-sweep.js';
import { type ImageOptions, imageCommand, numberIn } from './image-options.js';
import { refusalText, writeMeasurement } from './write-measurement.js';
import { writeSvg } from './write-svg.js';

/** Options of `measure grid`; the last two are for a folder of frames. */
export interface GridOptions extends ImageOptions {
  pitchMm: number;
  pattern?: GridPattern;
  svg?: string;
  station?: string;
  distanceMm?: number;
}

/** `focuswright measure grid IMAGE|FOLDER --pitch-mm P` */
export function addMeasureGrid(measure: Command): void {
  imageCommand(measure, 'grid', 'image file (8 or 16 bit grey PNG or TIFF), or a folder with frames.csv or a handover')
    .summary('scale, turn, perspective and distortion from a dot grid or checkerboard; change of scale with power')
    .description(
      'Finds a regular dot grid or checkerboard of known pitch by itself, turned, in perspective, with points missing, and gives mm per pixel, the turn and radial distortion about a fitted centre, with uncertainties and the residual of every point. Of a folder with frames of the target at rest at several focal powers: mm per pixel of each, and its change with power (focus breathing), with a station beside what its layout predicts.',
    )
    .requiredOption('--pitch-mm <mm>', 'from dot to dot, or side of a square', numberIn({ above: 0, unit: 'mm' }))
    .addOption(new Option('--pattern <name>', 'take only this pattern').choices(['dots', 'checker']))
    .option('--station <file>', 'of a folder: station file or demonstration station, to compare with')
    .option('--distance-mm <mm>', 'of a folder: target distance, if several', numberIn({ above: 0, unit: 'mm' }))
    .option('--svg <file>', 'write the map of distortion, of a folder the scale over power, as a figure')
    .action(async (path: string, options: GridOptions, command: Command) => {
      const isFolder = await stat(path).then(
        (found) => found.isDirectory(),
        () => false,
      );
      if (isFolder) {
        if (options.page !== 1)
          command.error("error: option '--page <number>' is for an image file, not for a folder.");
        return measureGridSweep(path, options);
      }
      for (const name of ['station', 'distanceMm'] as const) {
        if (options[name] !== undefined)
          command.error(`error: ${name === 'station' ? '--station' : '--distance-mm'} is for a folder of frames.`);
      }
      const source = await readImage(path, { page: options.page });
      const { widthPx, heightPx } = source.image;
      const reading = measureGrid({ image: source.image, pitchMm: options.pitchMm, pattern: options.pattern });
      if (options.svg && reading.kind === 'measured') {
        await writeSvg(
          options.svg,
          distortionMapFigure({ reading, widthPx, heightPx }, { widthPx: 900, heightPx: 700 }),
        );
      }
      writeMeasurement(source, reading, {
        json: options.json,
        refused: reading.kind === 'refused',
        text: () => gridText(reading),
      });
    });
}

function gridText(reading: GridReading): string {
  if (reading.kind === 'refused') return refusalText(reading);
  const { pixelAlongRowsMm, pixelAlongColumnsMm } = reading;
  return [
    `${reading.pattern}: ${reading.pointCount} points of pitch ${reading.pitchMm} mm; residual ${withUnit(reading.residualRmsPx, 'px rms')}`,
    `a pixel in the middle is ${estimateInWords(reading.pixelMm, 'mm')} on the target (${withUnit(pixelAlongRowsMm, 'mm', 6)} along its rows, ${withUnit(pixelAlongColumnsMm, 'mm', 6)} along its columns)`,
    `turned by ${estimateInWords(reading.rotationDeg, '°')} clockwise; perspective changes the scale by ${sharePercent(reading.perspectiveXFraction)} to the right and ${sharePercent(reading.perspectiveYFraction)} downwards`,
    `distortion at half the diagonal: ${percentInWords(reading.cornerDistortionFraction)} (${reading.cornerDistortionFraction.value < 0 ? 'barrel' : 'pincushion'}), about (${estimateInWords(reading.distortionCentreXPx, 'px')}, ${estimateInWords(reading.distortionCentreYPx, 'px')})`,
  ].join('\n');
}
