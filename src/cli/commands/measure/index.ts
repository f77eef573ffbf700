import type { Command } from 'commander';
import { addMeasureBars } from './bars.js';
import { addMeasureEdge } from './edge.js';
import { addMeasureFocus } from './focus.js';
import { addMeasureGrid } from './grid.js';
import { addMeasureNoise } from './noise.js';
import { addMeasureStack } from './stack.js';
import { addMeasureStar } from './star.js';
import { addMeasureTilt } from './tilt.js';

/** `focuswright measure …`: one file for each measurement. */
export function addMeasure(program: Command): void {
  const measure = program
    .command('measure')
    .summary('measure on image files, whatever camera they came from')
    .description(
      'Measures on image files: 8 or 16 bit grey PNG or TIFF, one page or several. Grey values must be linear (no gamma, no sharpening). A measurement that cannot be trusted is refused with the reason and what to do.',
    );
  addMeasureFocus(measure);
  addMeasureGrid(measure);
  addMeasureStack(measure);
  addMeasureStar(measure);
  addMeasureTilt(measure);
  addMeasureEdge(measure);
  addMeasureBars(measure);
  addMeasureNoise(measure);
}
