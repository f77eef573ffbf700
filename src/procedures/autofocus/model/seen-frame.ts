import {
  type GreyImage,
  type Region,
  type RingSpectrometer,
  type RingSpectrum,
  relativeScale,
} from '../../../image/index.js';
import { recentMoves } from '../lens-play.js';
import type { FocusView } from '../method.js';
import { type FocusBreathing, type SeenGrowth, sizeRatio } from './focus-breathing.js';
import { type BelievedFrame, type PlayOfFrame, playedPowersDpt } from './hypothesis-fit.js';
import { type RegionLevels, regionLevels } from './judge-region.js';

/** A change of scale less sure than this, 1σ, counts as none. */
const leastSureScale = 0.006;
/** Frames whose drawn size is known better by less than this are not measured again. */
const leastRescaled = 0.001;

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

/** Measures a frame as large as if it were the first; see asDrawnBy. */
export function seeFrame({
  view,
  region,
  hysteresisDpt,
  measure,
}: {
  view: FocusView;
  region: Region;
  hysteresisDpt: number;
  measure: RingSpectrometer['measure'];
}): SeenFrame {
  const { image, commandedDpt, frameId, cameFrom } = view;
  const play = playOf(view, hysteresisDpt);
  return {
    commandedDpt,
    travelDpt: travelOf(view),
    frameId,
    cameFrom,
    powersDpt: play === null ? view.powersDpt : playedPowersDpt(play),
    play,
    scaleRatio: 1,
    levels: regionLevels(image, region),
    spectrum: measure(image, region),
    image,
  };
}

/** Growth from each earlier frame to the last, where their pictures tell. */
export function growthsToLast(
  seen: readonly SeenFrame[],
  { region, breathing }: { region: Region; breathing: FocusBreathing },
): SeenGrowth[] {
  const last = seen.at(-1)!;
  const toDpt = middlePowerDpt(last);
  return seen.slice(0, -1).flatMap((frame) => {
    const fromDpt = middlePowerDpt(frame);
    const expectedRatio = sizeRatio(breathing, { fromDpt, toDpt });
    const scale = relativeScale({ first: frame.image, second: last.image, region, expectedRatio });
    return scale === null || scale.scaleStd > leastSureScale ? [] : [{ fromDpt, toDpt, ...scale }];
  });
}

/** Frames with their rings where those of the first lie, by the breathing. */
export function asDrawnBy(
  breathing: FocusBreathing,
  seen: readonly SeenFrame[],
  { region, measure }: { region: Region; measure: RingSpectrometer['measure'] },
): SeenFrame[] {
  const fromDpt = middlePowerDpt(seen[0]!);
  return seen.map((frame) => {
    const scaleRatio = sizeRatio(breathing, { fromDpt, toDpt: middlePowerDpt(frame) });
    if (Math.abs(scaleRatio - frame.scaleRatio) < leastRescaled) return frame;
    return { ...frame, scaleRatio, spectrum: measure(frame.image, region, scaleRatio) };
  });
}

const middlePowerDpt = ({ powersDpt }: { powersDpt: readonly number[] }): number =>
  powersDpt.reduce((sum, dpt) => sum + dpt, 0) / powersDpt.length;

/** How far the lens was from its power, or moved, during an exposure. */
const travelOf = ({ powersDpt, commandedDpt }: FocusView): number =>
  Math.max(commandedDpt, ...powersDpt) - Math.min(commandedDpt, ...powersDpt);

const playOf = ({ powersDpt, cameFrom, moves }: FocusView, widthDpt: number): PlayOfFrame | null =>
  widthDpt === 0 || cameFrom === 'below' ? null : { powersDpt, widthDpt, moves: recentMoves(moves, { widthDpt }) };

/** Frames scaled to the first one’s brightness and size (a ring of a scene drawn s times as large holds s² as much), each with its own noise. */
export function believedFrames(seen: readonly SeenFrame[]): BelievedFrame[] {
  const first = seen[0]!.spectrum.meanDn;
  return seen.map(({ spectrum, powersDpt, play, scaleRatio }) => {
    const scale = (first / Math.max(spectrum.meanDn, 1e-3) / scaleRatio) ** 2;
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
