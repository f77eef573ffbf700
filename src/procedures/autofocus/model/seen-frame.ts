import {
  type GreyImage,
  type Region,
  type RingSpectrometer,
  type RingSpectrum,
  relativeScale,
} from '../../../image/index.js';
import type { FocusView } from '../method.js';
import { type BelievedFrame, type PlayOfFrame, playedPowersDpt } from './hypothesis-fit.js';
import { type RegionLevels, regionLevels } from './judge-region.js';

/** A change of scale less sure than this, 1σ, counts as none. */
const leastSureScale = 0.003;

/** A frame of a search, and what was measured in it. */
export interface SeenFrame {
  commandedDpt: number;
  frameId: number;
  cameFrom: FocusView['cameFrom'];
  travelDpt: number;
  powersDpt: readonly number[];
  play: PlayOfFrame | null;
  scaleRatio: number;
  levels: RegionLevels;
  spectrum: RingSpectrum;
  image: GreyImage;
}

/** Measures a frame; `first`: the first of the search, undefined where this is it. */
export function seeFrame({
  view,
  first,
  region,
  hysteresisDpt,
  measure,
}: {
  view: FocusView;
  first: SeenFrame | undefined;
  region: Region;
  hysteresisDpt: number;
  measure: RingSpectrometer['measure'];
}): SeenFrame {
  const { image, commandedDpt, frameId, cameFrom } = view;
  const scaleRatio = scaleOver(first, image, region);
  const play = playOf(view, hysteresisDpt);
  return {
    commandedDpt,
    travelDpt: travelOf(view),
    frameId,
    cameFrom,
    powersDpt: play === null ? view.powersDpt : playedPowersDpt(play),
    play,
    scaleRatio,
    levels: regionLevels(image, region),
    spectrum: measure(image, region, scaleRatio),
    image,
  };
}

/** How much larger a frame shows the scene than the first; 1 where that cannot be told. */
function scaleOver(first: SeenFrame | undefined, image: GreyImage, region: Region): number {
  if (first === undefined) return 1;
  const scale = relativeScale({ first: first.image, second: image, region });
  return scale === null || scale.scaleStd > leastSureScale ? 1 : scale.scaleRatio;
}

/** How far the lens was from its power, or moved, during an exposure. */
const travelOf = ({ powersDpt, commandedDpt }: FocusView): number =>
  Math.max(commandedDpt, ...powersDpt) - Math.min(commandedDpt, ...powersDpt);

const playOf = ({ powersDpt, cameFrom }: FocusView, hysteresisDpt: number): PlayOfFrame | null =>
  hysteresisDpt === 0 || cameFrom === 'below'
    ? null
    : { powersDpt, widthDpt: hysteresisDpt, isWhole: cameFrom === 'above' };

/** Frames scaled to the first one’s brightness, each with its own level of noise. */
export function believedFrames(seen: readonly SeenFrame[]): BelievedFrame[] {
  const first = seen[0]!.spectrum.meanDn;
  return seen.map(({ spectrum, powersDpt, play, scaleRatio }) => {
    const scale = (first / Math.max(spectrum.meanDn, 1e-3)) ** 2;
    return {
      focalPowersDpt: powersDpt,
      play,
      scaleRatio,
      powersDn2: spectrum.powersDn2.map((power) => power * scale),
      coefficientCounts: spectrum.coefficientCounts,
      noiseDn2: scale * noiseOfFrame(spectrum, seen),
    };
  });
}

/**
 * Noise of a frame: the power in the corners of its spectrum, or of another's where that is less; photon noise grows with the
 * light.
 */
function noiseOfFrame({ powersDn2, meanDn }: RingSpectrum, seen: readonly { spectrum: RingSpectrum }[]): number {
  let noise = powersDn2.at(-1)!;
  for (const { spectrum } of seen) {
    noise = Math.min(noise, spectrum.powersDn2.at(-1)! * Math.max(1, meanDn / Math.max(spectrum.meanDn, 1e-3)));
  }
  return Math.max(1 / 12, noise);
}
