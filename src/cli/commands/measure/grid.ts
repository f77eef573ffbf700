import { type Command, Option } from 'commander';
import { readImage } from '../../../app/index.js';
import { type GridPattern, type GridReading, measureGrid } from '../../../image/index.js';
import { distortionMapFigure, estimateInWords, sharePercent, withUnit } from '../../../report/index.js';
import { type ImageOptions, imageCommand, numberIn } from './image-options.js';
import { refusalText, writeMeasurement } from './write-measurement.js';
import { writeSvg } from './write-svg.js';

interface GridOptions extends ImageOptions {
  pitchMm: number;
  pattern?: GridPattern;
  svg?: string;
}

/** `focuswright measure grid IMAGE --pitch-mm P` */
export function addMeasureGrid(measure: Command): void {
  imageCommand(measure, 'grid')
    .summary('scale, turn, perspective and distortion from a dot grid or checkerboard')
    .description(
      'Finds a regular dot grid or checkerboard of known pitch by itself, turned, in perspective, with points missing, and gives mm per pixel, the turn and radial distortion about a fitted centre, with uncertainties and the residual of every point.',
    )
    .requiredOption('--pitch-mm <mm>', 'from dot to dot, or side of a square', numberIn({ above: 0, unit: 'mm' }))
    .addOption(new Option('--pattern <name>', 'take only this pattern').choices(['dots', 'checker']))
    .option('--svg <file>', 'write the map of distortion as a figure')
    .action(async (path: string, options: GridOptions) => {
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

const percentInWords = ({ value, std }: { value: number; std: number | null }): string =>
  estimateInWords({ value: 100 * value, std: std === null ? null : 100 * std }, '%');
