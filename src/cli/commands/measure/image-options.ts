import { type Command, InvalidArgumentError, Option } from 'commander';
import type { BayerChoice } from '../../../app/index.js';
import { type BayerColour, type BayerPattern, bayerColours, bayerPatterns, type Region } from '../../../image/index.js';
import { cautionFirst } from '../../caution-first.js';

/** For raw Bayer frames. */
export interface BayerOptions {
  bayer?: BayerPattern;
  colour: BayerColour;
}

/** What every measurement on one image takes. */
export interface ImageOptions {
  page: number;
  json?: boolean;
}

/** A sub-command that measures on one image, of a file or a camera: `<image>`, `--page`, `--json`. */
export function imageCommand(
  parent: Command,
  name: string,
  what = 'image file, 8 or 16 bit grey PNG or TIFF; or genicam:CAMERA for a new frame of a camera as it stands',
): Command {
  return parent
    .command(name)
    .argument('<image>', what)
    .option('--page <number>', 'page of a TIFF, counted from 1', wholeFrom(1), 1)
    .option('--json', 'write the whole record as JSON')
    .hook('preAction', (command) => cautionFirst(command.args[0] ?? '', null));
}

/** Adds `--bayer` and `--colour`. */
export const withBayer = (command: Command): Command =>
  command
    .addOption(
      new Option(
        '--bayer <pattern>',
        'the image is a raw Bayer mosaic with these two colours at the upper left; one colour is measured, every second pixel of every second row',
      ).choices(bayerPatterns),
    )
    .addOption(new Option('--colour <name>', 'colour of the mosaic').choices(bayerColours).default('green-red'));

/** The choice that the options make; undefined for a monochrome image. */
export const bayerOf = ({ bayer, colour }: BayerOptions): BayerChoice | undefined =>
  bayer === undefined ? undefined : { pattern: bayer, colour };

const roiHelp = 'in whole pixels from the top left corner; without it the whole image';

/** Adds `--roi x,y,w,h`, given once. The parsed region still has to be checked against the image: regionInside. */
export const withRoi = (command: Command): Command =>
  command.option('--roi <x,y,w,h>', `region of interest, ${roiHelp}`, parseRoi);

/** Adds `--roi x,y,w,h`, given as often as there are regions. */
export const withRois = (command: Command): Command =>
  command.option(
    '--roi <x,y,w,h>',
    `region of interest, ${roiHelp}; may be given several times`,
    (text: string, others: Region[] | undefined) => [...(others ?? []), parseRoi(text)],
  );

/** Reads `x,y,w,h`. Throws InvalidArgumentError, which ends the command with what is allowed. */
export function parseRoi(text: string): Region {
  const parts = text.split(',').map((part) => part.trim());
  const [xPx, yPx, widthPx, heightPx] = parts.map(Number) as [number, number, number, number];
  const whole = parts.length === 4 && parts.every((part) => /^\d{1,7}$/.test(part));
  if (!whole || widthPx < 1 || heightPx < 1) {
    throw new InvalidArgumentError(
      'It must be x,y,w,h: four whole numbers of pixels, the left upper corner and a size of at least 1 × 1, e.g. 400,300,200,120.',
    );
  }
  return { xPx, yPx, widthPx, heightPx };
}

/** A parser for a whole number of at least `min`. */
export function wholeFrom(min: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (/^\d{1,9}$/.test(text.trim()) && value >= min) return value;
    throw new InvalidArgumentError(`It must be a whole number of at least ${min}.`);
  };
}

/** A parser for a number inside limits; `unit` stands in the message. */
export function numberIn({
  min,
  max,
  above,
  unit,
}: {
  min?: number;
  max?: number;
  above?: number;
  unit: string;
}): (text: string) => number {
  return (text) => {
    const value = text.trim() === '' ? Number.NaN : Number(text);
    const ok =
      Number.isFinite(value) &&
      (min === undefined || value >= min) &&
      (above === undefined || value > above) &&
      (max === undefined || value <= max);
    if (ok) return value;
    const low = above !== undefined ? `more than ${above}` : min !== undefined ? `at least ${min}` : '';
    const high = max === undefined ? '' : `at most ${max}`;
    const limits = [low, high].filter((part) => part !== '').join(' and ');
    throw new InvalidArgumentError(`It must be a number of ${limits || 'any size'}${unit && `, in ${unit}`}.`);
  };
}
