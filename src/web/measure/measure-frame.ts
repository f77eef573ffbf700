import {
  barMarks,
  cropImage,
  edgeMarks,
  type GreyImage,
  gridMarks,
  levelNoiseMeter,
  measureBars,
  measureGrid,
  measureStar,
  type Region,
  readEdges,
  readFocus,
  regionInWords,
  regionStatistics,
  type StarReading,
  starMarks,
  wholeFrame,
} from '../../image/index.js';
import { sensorNoiseStdDn } from '../../station/index.js';
import type { MeasureOrder, MeasureOutcome, PairNoise, PixelNoise } from './measure-order.js';

/**
 * Measures on a frame what the order says; noise also needs a second frame of the same scene.
 *
 * Returns  the library's record, a refusal included, and the outlines of what was found
 * Throws   RangeError for a region outside the frame.
 */
export function measureFrame(image: GreyImage, second: GreyImage | null, order: MeasureOrder): MeasureOutcome {
  const inRegion = order.region === null ? {} : { region: order.region };
  switch (order.what) {
    case 'edge': {
      const { pixelPitchUm, magnification } = order;
      const scale = magnification === null ? { pixelPitchUm } : { pixelPitchUm, magnification };
      const reading = readEdges({ image, ...inRegion, ...scale });
      return { what: 'edge', reading, marks: reading.kind === 'measured' ? edgeMarks(reading) : [] };
    }
    case 'focus': {
      const region = order.region ?? wholeFrame(image);
      const noiseStdDn = order.noise && noiseOf(order.noise, image, region);
      const [reading] = readFocus({ image, regions: [region], noiseStdDn });
      return { what: 'focus', reading: reading!, marks: [] };
    }
    case 'bars': {
      const { umPerPx, modulation } = order;
      const reading = measureBars({ image, ...inRegion, umPerPx, ...(modulation !== null && { modulation }) });
      return { what: 'bars', reading, marks: reading.kind === 'measured' ? barMarks(reading) : [] };
    }
    case 'star': {
      const reading = starInRegion(image, order.region, order.sectors);
      return { what: 'star', reading, marks: reading.kind === 'measured' ? starMarks(reading) : [] };
    }
    case 'grid': {
      const reading = measureGrid({ image, pitchMm: order.pitchMm, pattern: order.pattern });
      return { what: 'grid', reading, marks: reading.kind === 'measured' ? gridMarks(reading) : [] };
    }
    case 'noise':
      return { what: 'noise', reading: pairNoise(image, second, order.region ?? wholeFrame(image)), marks: [] };
  }
}

function noiseOf(noise: PixelNoise, image: GreyImage, region: Region): number {
  if (noise.of === 'given') return noise.stdDn;
  const greyDn = regionStatistics({ image, region }).meanDn;
  return sensorNoiseStdDn({ sensor: noise.sensor, greyDn, bitDepth: image.bitDepth });
}

/** A star in a part of the frame; places are told in the whole frame's pixels, whose middle is the axis. */
function starInRegion(image: GreyImage, region: Region | null, cycles: number): StarReading {
  if (region === null) return measureStar({ image, cycles });
  const { xPx, yPx } = region;
  const axis = { xPx: (image.widthPx - 1) / 2 - xPx, yPx: (image.heightPx - 1) / 2 - yPx };
  const reading = measureStar({ image: cropImage({ image, region }), cycles, axis });
  if (reading.kind === 'refused') return reading;
  return { ...reading, centreXPx: reading.centreXPx + xPx, centreYPx: reading.centreYPx + yPx };
}

/** Above this share of pixels at either end of the range the noise is cut. */
const mostClippedFraction = 0.001;

function pairNoise(image: GreyImage, second: GreyImage | null, region: Region): PairNoise {
  const refuse = (reason: string, message: string, remedy: string): PairNoise => ({
    kind: 'refused',
    reason,
    message,
    remedy,
  });
  if (second === null)
    return refuse('one-frame', 'Noise needs two frames of one still scene.', 'Take or choose the second frame.');
  const sizes = [image, second].map(
    ({ widthPx, heightPx, bitDepth }) => `${widthPx} × ${heightPx} px, ${bitDepth} bit`,
  );
  if (sizes[0] !== sizes[1])
    return refuse(
      'unlike-frames',
      `The frames differ: ${sizes.join(' and ')}.`,
      'Choose two frames of one camera with the same settings.',
    );
  if (region.widthPx * region.heightPx < 256)
    return refuse('region-too-small', `The region is ${regionInWords(region)}.`, 'Choose at least 16 × 16 px.');
  const meter = levelNoiseMeter(region);
  meter.add(image);
  meter.add(second);
  const noise = meter.result();
  const clipped = noise.saturatedFraction + noise.blackFraction;
  if (clipped > mostClippedFraction)
    return refuse(
      'clipped',
      `${(100 * clipped).toFixed(1)} % of the pixels are at zero or at the largest grey value, where noise is cut off.`,
      'Choose an even region between the ends of the range, or change exposure or black level.',
    );
  if (noise.temporalVarianceDn2 === 0)
    return refuse(
      'same-frame',
      'Both frames are the same, pixel by pixel.',
      'Choose two frames taken one after the other.',
    );
  return { kind: 'measured', region, ...noise };
}
