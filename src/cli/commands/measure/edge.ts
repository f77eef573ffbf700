import type { Command } from 'commander';
import { readImage, regionInside, writePicture } from '../../../app/index.js';
import { edgeMarks, type Region, readEdges } from '../../../image/index.js';
import { edgeText } from './edge-text.js';
import {
  type BayerOptions,
  bayerOf,
  type ImageOptions,
  imageCommand,
  numberIn,
  withBayer,
  withRoi,
} from './image-options.js';
import { writeMeasurement } from './write-measurement.js';

interface EdgeOptions extends ImageOptions, BayerOptions {
  roi?: Region;
  pixelPitchUm?: number;
  magnification?: number;
  picture?: string;
}

/** `focuswright measure edge IMAGE` */
export function addMeasureEdge(measure: Command): void {
  withBayer(withRoi(imageCommand(measure, 'edge')))
    .summary('modulation transfer function from a slanted edge')
    .description(
      'Reads the modulation transfer function from one straight edge between a dark and a bright plain area, tilted by 2 to 14 degrees against the pixel rows or columns (what ISO 12233 calls e-SFR), with its standard deviation. Without a region every usable edge is looked for; the best one is reported in full. Of a raw Bayer mosaic one colour is measured: its pixels, and the cycles per pixel, are those of that colour, twice the sensor’s pitch apart.',
    )
    .option(
      '--pixel-pitch-um <um>',
      'pixel pitch of the sensor: adds line pairs per mm on the sensor',
      numberIn({ above: 0, unit: 'µm' }),
    )
    .option(
      '--magnification <m>',
      'image over object, with the pitch: adds line pairs per mm on the object',
      numberIn({ above: 0, unit: '' }),
    )
    .option('--picture <file>', 'write a picture of what was found, .png or .svg')
    .action(async (path: string, options: EdgeOptions, command: Command) => {
      const { pixelPitchUm, magnification } = options;
      if (magnification !== undefined && pixelPitchUm === undefined) {
        command.error("error: option '--magnification <m>' needs --pixel-pitch-um as well.");
      }
      const bayer = bayerOf(options);
      const source = await readImage(path, { page: options.page, bayer });
      const read = readEdges({
        image: source.image,
        ...(options.roi === undefined ? {} : { region: regionInside(options.roi, source) }),
        // One colour has every second pixel of every second row.
        ...(pixelPitchUm === undefined ? {} : { pixelPitchUm: bayer ? 2 * pixelPitchUm : pixelPitchUm }),
        ...(magnification === undefined ? {} : { magnification }),
      });
      if (options.picture !== undefined && read.kind === 'measured') {
        await writePicture(options.picture, {
          image: source.image,
          marks: edgeMarks(read),
          title: `Edges measured in ${path}`,
          description: `${read.edges.length} edges; each outline is labelled with MTF50 in cycles per pixel. The solid one is reported.`,
        });
      }
      writeMeasurement(source, read, {
        json: options.json,
        refused: read.kind === 'refused',
        text: () => edgeText(read),
      });
    });
}
