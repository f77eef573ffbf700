import type { Command } from 'commander';
import { readImage, regionInside, writePicture } from '../../../app/index.js';
import { barMarks, measureBars, type Region } from '../../../image/index.js';
import { barsText, elementName } from './bars-text.js';
import { type ImageOptions, imageCommand, numberIn, withRoi } from './image-options.js';
import { writeMeasurement } from './write-measurement.js';

interface BarsOptions extends ImageOptions {
  roi?: Region;
  umPerPx: number;
  modulation?: number;
  picture?: string;
}

/** `focuswright measure bars IMAGE --um-per-px S` */
export function addMeasureBars(measure: Command): void {
  withRoi(imageCommand(measure, 'bars'))
    .summary('last resolved element of a three-bar target')
    .description(
      'Finds the elements of a three-bar target of the MIL-STD-150A series anywhere in the frame, dark or bright, turned by up to about 15 degrees beside any quarter turns; reads the contrast of each with its standard deviation; and tells the last resolved element for bars that run horizontally, vertically, and both (joint). Group and element follow from the size, so the µm per pixel on the object must be known to about 5 %.',
    )
    .requiredOption('--um-per-px <um>', 'size of a pixel on the object', numberIn({ above: 0, unit: 'µm' }))
    .option(
      '--modulation <contrast>',
      "least contrast of a resolved element, against that of large areas (default: Rayleigh's dip of 26.5 %, a contrast of 0.153)",
      numberIn({ min: 0.02, max: 0.95, unit: '' }),
    )
    .option('--picture <file>', 'write a picture of what was found, .png or .svg')
    .action(async (path: string, options: BarsOptions) => {
      const source = await readImage(path, { page: options.page });
      const read = measureBars({
        image: source.image,
        umPerPx: options.umPerPx,
        ...(options.roi === undefined ? {} : { region: regionInside(options.roi, source) }),
        ...(options.modulation === undefined ? {} : { modulation: options.modulation }),
      });
      if (options.picture !== undefined && read.kind === 'measured') {
        await writePicture(options.picture, {
          image: source.image,
          marks: barMarks(read),
          title: `Three-bar elements found; last resolved both ways: ${elementName(read.lastResolved.joint)}`,
          description: `${read.elements.length} patterns; solid outlines are resolved, dashed ones are not. Labels: group/element.`,
        });
      }
      writeMeasurement(source, read, {
        json: options.json,
        refused: read.kind === 'refused',
        text: () => barsText(read),
      });
    });
}
