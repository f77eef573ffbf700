import type { Command } from 'commander';
import { softwareVersion } from '../../../app/index.js';
import type { Estimate } from '../../../base/index.js';
import { focusTilt } from '../../../image/index.js';
import { estimateInWords, heightMapFigure, withUnit } from '../../../report/index.js';
import { predictedMagnification } from '../../../station/index.js';
import { exitCodes } from '../../exit-codes.js';
import { writeResult } from '../../output.js';
import { numberIn } from './image-options.js';
import { type StackedSweep, type SweepOptions, sourceText, stackOf, sweepCommand } from './stack-input.js';
import { refusalText } from './write-measurement.js';
import { writeSvg } from './write-svg.js';

interface TiltOptions extends SweepOptions {
  flangeMm: number;
  svg?: string;
}

/** `focuswright measure tilt FOLDER` */
export function addMeasureTilt(measure: Command): void {
  sweepCommand(measure, 'tilt')
    .summary('tilt of the object plane from best focus over the field, with shim advice')
    .description(
      'Finds best focus all over the field of a flat textured target and fits a plane: how far target and sensor lean against each other, and the shim under the camera’s flange that would take it out. The picture must stand upright, neither mirrored nor turned.',
    )
    .option(
      '--flange-mm <mm>',
      'width of the camera’s flange over which a shim tips it',
      numberIn({ above: 0, unit: 'mm' }),
      29,
    )
    .option('--svg <file>', 'write the map of best focus as a figure')
    .action(async (folder: string, options: TiltOptions) => {
      const stacked = await stackOf(folder, options, { fuse: false });
      const tilt = tiltOf(stacked, options.flangeMm);
      if (tilt.kind === 'refused') process.exitCode = exitCodes.refused.code;
      const { outcome, sweep, loaded, source } = stacked;
      if (options.svg && outcome.kind === 'stacked') {
        const shown = { heights: outcome.heights, ...(tilt.kind === 'measured' && { tilt }) };
        await writeSvg(options.svg, heightMapFigure(shown, { widthPx: 900, heightPx: 640 }));
      }
      const about = {
        folder,
        station: loaded.station.station,
        stationSha256: loaded.sha256,
        distances: source,
        frames: sweep.rows.length,
        softwareVersion,
      };
      writeResult({ ...about, ...tilt }, { json: options.json, text: () => tiltText(tilt, stacked) });
    });
}

function tiltOf({ outcome, sweep, loaded: { station } }: StackedSweep, flangeWidthMm: number) {
  if (outcome.kind === 'refused') return outcome;
  const { heights } = outcome;
  const magnification =
    predictedMagnification({ station, workingDistanceMm: heights.zeroWorkingDistanceMm }) ?? Number.NaN;
  const { widthPx, heightPx } = sweep;
  const { pixelPitchUm } = station.parts.sensor;
  return focusTilt({ heights, widthPx, heightPx, magnification, pixelPitchUm, flangeWidthMm });
}

function tiltText(tilt: ReturnType<typeof tiltOf>, { source }: StackedSweep): string {
  if (tilt.kind === 'refused') return refusalText(tilt);
  const { shim } = tilt;
  return [
    `middle of the field: ${estimateInWords(tilt.middleMm, 'mm')}; ${sourceText(source)}`,
    direction(tilt.tiltXDeg, 'right', 'left'),
    direction(tilt.tiltYDeg, 'bottom', 'top'),
    `across the field ${withUnit(tilt.acrossFieldMm, 'mm')}: ${withUnit(tilt.depthShare, 'times')} the depth of field; curvature at the corner ${estimateInWords(tilt.cornerSagMm, 'mm')}`,
    `to follow it with the camera: ${estimateInWords(shim.horizontalUm, 'µm')} under the ${shim.horizontalSide} and ${estimateInWords(shim.verticalUm, 'µm')} under the ${shim.verticalSide} side of its ${shim.flangeWidthMm} mm flange, between lens and camera, seen from behind the camera`,
    'or tip the target: bring the farther side nearer. Residual about the fitted surface: '.concat(
      withUnit(tilt.residualRmsMm, 'mm rms'),
    ),
  ].join('\n');
}

const direction = (angle: Estimate, positive: string, negative: string): string =>
  `the target lies farther at the ${angle.value >= 0 ? positive : negative} of the picture, by ${estimateInWords({ value: Math.abs(angle.value), std: angle.std }, '°')}`;
