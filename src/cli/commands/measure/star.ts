import { type Command, InvalidArgumentError } from 'commander';
import { readImage } from '../../../app/index.js';
import { FocuswrightError } from '../../../base/index.js';
import { measureStar, type StarReading } from '../../../image/index.js';
import { formatNumber, starFigure, withUnit } from '../../../report/index.js';
import { textTable } from '../../output.js';
import { type ImageOptions, imageCommand, numberIn } from './image-options.js';
import { refusalText, writeMeasurement } from './write-measurement.js';
import { writeSvg } from './write-svg.js';

interface StarOptions extends ImageOptions {
  sectors: number;
  centre?: { xPx: number; yPx: number };
  axis?: { xPx: number; yPx: number };
  blackLevelDn: number;
  svg?: string;
}

/** `focuswright measure star IMAGE --sectors N` */
export function addMeasureStar(measure: Command): void {
  imageCommand(measure, 'star')
    .summary('contrast against frequency in eight directions from a Siemens star')
    .description(
      'Finds the centre of a star target by itself and fits its wave on every ring in eight sectors: contrast against frequency for each direction. Shows astigmatism (sharper one way than the other) and coma (fine detail shifted against coarse).',
    )
    .requiredOption('--sectors <number>', 'dark sectors round the star, each with a bright one: its cycles', cyclesOf)
    .option('--centre <x,y>', 'centre in pixels, instead of finding it', placeOf)
    .option('--axis <x,y>', 'optical axis in pixels; by default the middle of the frame', placeOf)
    .option('--black-level-dn <dn>', 'grey value without light', numberIn({ min: 0, unit: 'DN' }), 0)
    .option('--svg <file>', 'write the figure')
    .action(async (path: string, options: StarOptions) => {
      const source = await readImage(path, { page: options.page });
      const { centre, axis, blackLevelDn } = options;
      const { widthPx, heightPx } = source.image;
      if (centre && !(centre.xPx > 0 && centre.yPx > 0 && centre.xPx < widthPx - 1 && centre.yPx < heightPx - 1)) {
        throw new FocuswrightError(
          'region-outside-frame',
          { file: path, centre: `(${centre.xPx}, ${centre.yPx}) px`, frame: `${widthPx} × ${heightPx} px` },
          { remedy: 'Give --centre x,y inside the image.' },
        );
      }
      const reading = measureStar({ image: source.image, cycles: options.sectors, centre, axis, blackLevelDn });
      if (options.svg && reading.kind === 'measured') {
        await writeSvg(options.svg, starFigure({ reading }, { widthPx: 760, heightPx: 640 }));
      }
      writeMeasurement(source, reading, {
        json: options.json,
        refused: reading.kind === 'refused',
        text: () => starText(reading),
      });
    });
}

function starText(reading: StarReading): string {
  if (reading.kind === 'refused') return refusalText(reading);
  const { astigmatism, field, rings } = reading;
  const perPx = (value: number | null) => (value === null ? 'not reached' : withUnit(value, 'cycles/px'));
  const shown = rings.filter((_, i) => i % Math.ceil(rings.length / 12) === 0);
  return [
    `star of ${reading.cycles} cycles, centre (${reading.centreXPx.toFixed(2)}, ${reading.centreYPx.toFixed(2)}) px; MTF50 ${perPx(reading.mtf50PerPx)}`,
    astigmatism
      ? `sharpest for detail modulated along ${formatNumber(astigmatism.sharpestDirectionDeg)}° (clockwise from the right): ${perPx(astigmatism.sharpestMtf50PerPx)}; least sharp ${perPx(astigmatism.softestMtf50PerPx)}`
      : 'a direction does not fall to a contrast of one half: no comparison of directions',
    field
      ? `off the axis: tangential ${perPx(field.tangentialMtf50PerPx)}, sagittal ${perPx(field.sagittalMtf50PerPx)}`
      : 'on the axis: no tangential and sagittal',
    `fine detail is shifted by up to ${withUnit(reading.comaShiftPx, 'px')} against coarse`,
    '',
    textTable([
      ['cycles/px', 'MTF', ...reading.sectorDirectionsDeg.map((deg) => `${deg}°`)],
      ...shown.map(({ frequencyPerPx, mtf, sectorMtf }) => [
        frequencyPerPx.toFixed(3),
        mtf.toFixed(3),
        ...sectorMtf.map((value) => value.toFixed(3)),
      ]),
    ]),
  ].join('\n');
}

function cyclesOf(text: string): number {
  const value = Number(text);
  if (/^\d+$/.test(text.trim()) && value >= 8 && value <= 400) return value;
  throw new InvalidArgumentError('It must be a whole number from 8 to 400.');
}

function placeOf(text: string): { xPx: number; yPx: number } {
  const [xPx, yPx, ...rest] = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part))) as [
    number,
    number,
  ];
  if (rest.length === 0 && Number.isFinite(xPx) && Number.isFinite(yPx)) return { xPx, yPx };
  throw new InvalidArgumentError('It must be x,y: two numbers of pixels from the top left corner.');
}
