import { type Command, Option } from 'commander';
import { readImage, regionInside } from '../../../app/index.js';
import { type FocusMeasure, focusMeasureNames, type Region, readFocus } from '../../../image/index.js';
import { focusText } from './focus-text.js';
import {
  type BayerOptions,
  bayerOf,
  type ImageOptions,
  imageCommand,
  numberIn,
  withBayer,
  withRois,
} from './image-options.js';
import { writeMeasurement } from './write-measurement.js';

interface FocusOptions extends ImageOptions, BayerOptions {
  roi?: Region[];
  measure?: FocusMeasure;
  noiseStdDn?: number;
}

/** `focuswright measure focus IMAGE` */
export function addMeasureFocus(measure: Command): void {
  withBayer(withRois(imageCommand(measure, 'focus')))
    .summary('sharpness of regions by the published focus measures')
    .description(
      'Reads the published focus measures of one region or several. Values are per pixel; compare those of one scene, exposure and region size only. With the noise of a pixel each value gets its standard deviation and the floor that noise alone adds.',
    )
    .addOption(new Option('--measure <name>', 'only this measure').choices(focusMeasureNames))
    .option('--noise-std-dn <dn>', 'temporal noise of one pixel, in DN', numberIn({ min: 0, unit: 'DN' }))
    .action(async (path: string, options: FocusOptions) => {
      const source = await readImage(path, { page: options.page, bayer: bayerOf(options) });
      const regions = readFocus({
        image: source.image,
        regions: options.roi?.map((region) => regionInside(region, source)),
        measures: options.measure === undefined ? undefined : [options.measure],
        noiseStdDn: options.noiseStdDn,
      });
      writeMeasurement(
        source,
        { regions },
        {
          json: options.json,
          refused: regions.every(({ kind }) => kind === 'refused'),
          text: () => regions.map(focusText).join('\n\n'),
        },
      );
    });
}
