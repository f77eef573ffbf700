import type { LayoutModel } from '../optics/index.js';
import { type Station, sharpnessStagesOf } from '../station/index.js';
import { mtfPartsOf } from './mtf-parts.js';
import type { PlannedPlane } from './planned-plane.js';
import { inWords } from './words.js';

/** Narrower light has no colours that could focus apart by much. */
const narrowNm = 30;
/** What a part might have that its datasheet does not tell; common practice, no source. */
const usual = { abbeNumber: 32, axialColourUm: 20, gravityComaRmsWaves: 0.05 };

/** What was assumed of colour and coma because the parts do not say it, each with what it would change. */
export function sharpnessAssumptions({
  station,
  model,
  planes,
}: {
  station: Station;
  model: LayoutModel;
  planes: readonly PlannedPlane[];
}): string[] {
  const { fixedLens, tunableLens, light } = station.parts;
  const { opticalAxisFromVerticalDeg } = station.layout;
  const broad = light.bandwidthNm > narrowNm;
  const list: string[] = [];
  const places = placesOf(planes);
  const strongest = mostOf(places, ({ focalPowerDpt }) => Math.abs(focalPowerDpt));
  const finest = mostOf(places, ({ frequencyPerMm }) => frequencyPerMm);
  const effect = (parts: Partial<typeof usual>, place: Place | null) => effectOf({ station, model, parts, place });
  if (broad && tunableLens.abbeNumber === undefined) {
    const { abbeNumber } = usual;
    list.push(
      `Tunable lens without dispersion, its Abbe number is not given: with ${abbeNumber} ${effect({ abbeNumber }, strongest)} in light of ${inWords(light.bandwidthNm, 'nm')} width.`,
    );
  }
  if (broad && fixedLens.axialColourUm === 0) {
    const { axialColourUm } = usual;
    list.push(
      `Fixed lens without axial colour: with ${axialColourUm} µm between blue and red ${effect({ axialColourUm }, finest)}.`,
    );
  }
  const level =
    opticalAxisFromVerticalDeg === undefined || Math.sin((opticalAxisFromVerticalDeg * Math.PI) / 180) > 0.01;
  if (level && tunableLens.gravityComaRmsWaves === 0) {
    const { gravityComaRmsWaves } = usual;
    list.push(
      `Tunable lens without coma by gravity: with ${gravityComaRmsWaves} waves rms ${effect({ gravityComaRmsWaves }, finest)}. With the optical axis vertical there is none.`,
    );
  }
  if (opticalAxisFromVerticalDeg === undefined && tunableLens.gravityComaRmsWaves > 0) {
    list.push(
      'Optical axis taken as horizontal, the worst for coma by gravity: give opticalAxisFromVerticalDeg (0 looks straight down).',
    );
  }
  return list;
}

/** A plane of the task as the layout focuses it. */
interface Place {
  focalPowerDpt: number;
  magnification: number;
  workingFNumber: number;
  frequencyPerMm: number;
  mtfAtTask: number;
}

function placesOf(planes: readonly PlannedPlane[]): Place[] {
  return planes.flatMap(({ noPower, prediction }) => {
    const { neededPowerDpt, magnification, workingFNumber, taskFrequencyPerMm, mtfAtTask } = prediction;
    if (noPower !== null || neededPowerDpt === null) return [];
    return [
      {
        focalPowerDpt: neededPowerDpt,
        magnification,
        workingFNumber,
        frequencyPerMm: taskFrequencyPerMm,
        mtfAtTask,
      },
    ];
  });
}

const mostOf = (places: readonly Place[], sizeOf: (place: Place) => number): Place | null =>
  places.reduce<Place | null>((a, b) => (a === null || sizeOf(b) > sizeOf(a) ? b : a), null);

/** "the contrast at the task frequency would be 0.58, not 0.63", at a place where it counts most; digits that differ. */
function effectOf({
  station,
  model,
  parts: { abbeNumber, axialColourUm, gravityComaRmsWaves },
  place,
}: {
  station: Station;
  model: LayoutModel;
  parts: Partial<typeof usual>;
  place: Place | null;
}): string {
  if (place === null) return 'the contrast would fall';
  const { fixedLens, tunableLens } = station.parts;
  const other: Station = {
    ...station,
    parts: {
      ...station.parts,
      fixedLens: { ...fixedLens, ...(axialColourUm !== undefined && { axialColourUm }) },
      tunableLens: {
        ...tunableLens,
        ...(abbeNumber !== undefined && { abbeNumber }),
        ...(gravityComaRmsWaves !== undefined && { gravityComaRmsWaves }),
      },
    },
  };
  const stages = sharpnessStagesOf({ station: other, model, ...place, moving: true });
  const then = mtfPartsOf({ ...place, stages }).mtfAtTask;
  const now = place.mtfAtTask;
  const digits = [2, 3].find((count) => inWords(then, '', count) !== inWords(now, '', count));
  return digits === undefined
    ? `the contrast at the task frequency would stay ${inWords(now, '', 3)}`
    : `the contrast at the task frequency would be ${inWords(then, '', digits)}, not ${inWords(now, '', digits)}`;
}
