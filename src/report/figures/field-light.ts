import { scaleLinear } from 'd3-scale';
import type { PlaneSharpness, SharpnessRecord, Station } from '../../station/index.js';
import { formatNumber, withUnit } from '../format-number.js';
import { axisRoomPx, bottomRoomPx, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, type Plot } from './figure.js';
import { linePlot, planeDashes } from './line-plot.js';
import { outerAndMiddle } from './mtf-curves.js';

export interface FieldLightInput {
  station: Station;
  sharpness: SharpnessRecord;
  /** Drawn on scales that hold these too, so that figures can be compared side by side. */
  scaleWith?: readonly SharpnessRecord[];
}

/** Curves nearer than this at the corner are named together. */
const together = 0.03;

/** Relative illumination from the centre of the sensor to its corner at the nearest, a middle and the farthest plane. */
export function fieldLightFigure({ station, sharpness, scaleWith = [] }: FieldLightInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { imageHeightsMm } = sharpness;
  const planes = outerAndMiddle(sharpness.planes);
  const needed = station.task.cornerIlluminationNeeded;
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const y = scaleLinear().domain([0, 1.05]).range([bottomPx, topPx]);
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 12, topPx, bottomPx };
  const cornersMm = [sharpness, ...scaleWith].map((s) => s.imageHeightsMm.at(-1) ?? 0);
  const x = scaleOver([0, ...cornersMm], [plot.leftPx, plot.rightPx], { padding: 0 });
  const corners = planes.map(cornerOf);
  const alike = Math.max(...corners, 0) - Math.min(...corners, 1) < together;
  const cornerMm = imageHeightsMm.at(-1) ?? 0;
  const body = linePlot({
    plot,
    x,
    y,
    lines: planes.map((plane, i) => ({
      points: imageHeightsMm.map((mm, k) => [mm, plane.light.relativeIllumination[k]!] as const),
      name: alike ? (i === 0 ? 'all planes' : null) : plane.name,
      nameShare: 0.7,
      dash: planeDashes[i],
      prefer: i === 0 ? 'below' : 'above',
    })),
    required: {
      x: [0, cornerMm],
      y: [needed, 1.05],
      edges: ['bottom', 'right'],
      name: `needed ${formatNumber(needed)} in the corner`,
    },
    axes: { x: 'Distance from the middle of the sensor, mm', y: 'Light relative to the centre' },
  });
  return figureOf({
    title: titleOf(sharpness, needed),
    description: descriptionOf(station, sharpness),
    size: { widthPx, heightPx },
    body,
  });
}

const cornerOf = ({ light }: PlaneSharpness): number => light.relativeIllumination.at(-1)!;
const percent = (share: number): string => withUnit(share * 100, '%', 2);

function titleOf({ planes, darkestPlane, imageHeightsMm }: SharpnessRecord, needed: number): string {
  const darkest = planes.find(({ name }) => name === darkestPlane);
  if (!darkest) return 'No light over the field: no plane can be focused';
  const corner = cornerOf(darkest);
  const { unvignettedRadiusMm } = darkest.light;
  const cornerMm = imageHeightsMm.at(-1)!;
  const stop =
    unvignettedRadiusMm === null || unvignettedRadiusMm >= cornerMm
      ? 'the tunable lens cuts nothing'
      : `the tunable lens cuts from ${withUnit(unvignettedRadiusMm, 'mm')} outwards`;
  return `The corner is darkest at ${darkest.name}: ${percent(corner)} of the centre, ${percent(needed)} needed; ${stop}`;
}

function descriptionOf({ station }: Station, { planes, imageHeightsMm }: SharpnessRecord): string {
  const each = planes.map(({ name, light }) => {
    const { cornerUnvignettedShare, unvignettedFieldMm } = light;
    const field =
      unvignettedFieldMm === null
        ? 'no stop cuts anywhere'
        : `no stop cuts inside a field of ${withUnit(unvignettedFieldMm, 'mm')} diameter`;
    return `${name}: ${percent(light.relativeIllumination.at(-1)!)} in the corner, of whose cone ${percent(cornerUnvignettedShare)} pass both stops; ${field}`;
  });
  return `Relative illumination from the middle of the sensor to its corner at ${withUnit(imageHeightsMm.at(-1)!, 'mm')} for ${station}. ${each.join('. ')}. The fixed lens’s own vignetting is not in it.`;
}
