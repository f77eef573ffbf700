import { InvalidArgumentError } from 'commander';
import type { Region } from '../image/index.js';
import { parseRoi } from './commands/measure/image-options.js';

/** Regions on the command line: given one by one, or `auto`. */
export type RoiOption = Region[] | 'auto';

export const roiOptionHelp =
  'region to focus on, in whole pixels from the top left corner; may be given several times; `auto`: where two frames show most texture (default: the middle)';

/** Reads one `--roi` after those before it. */
export function parseRoiOrAuto(text: string, before: RoiOption | undefined): RoiOption {
  if (text === 'auto' || before === 'auto') {
    if (before === undefined) return 'auto';
    throw new InvalidArgumentError('`auto` stands alone: it chooses one region.');
  }
  return [...(before ?? []), parseRoi(text)];
}

/** What the option asks for. */
export const regionsOf = (roi: RoiOption | undefined): readonly Region[] | 'middle' | 'texture' =>
  roi === undefined ? 'middle' : roi === 'auto' ? 'texture' : roi;
