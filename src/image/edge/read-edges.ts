import { perMmFromPerPx } from '../../base/index.js';
import { type GreyImage, type Region, wholeFrame } from '../grey-image.js';
import type { EdgeMeasured, EdgeResponse, MtfPoint } from './edge-response.js';
import { findEdges } from './find-edges.js';
import { measureEdge } from './measure-edge.js';
import { refuseEdge } from './refuse-edge.js';

/** MTF at one frequency, with the frequency on the sensor and on the object where pitch and magnification are known. */
export interface ScaledMtfPoint extends MtfPoint {
  sensorPerMm?: number;
  objectPerMm?: number;
}

/** One edge of a frame in short. */
export interface EdgeSummary {
  region: Region;
  orientation: EdgeMeasured['orientation'];
  edgeAngleDeg: number;
  mtf50PerPx: number | null;
  mtf50StdPerPx: number | null;
}

/** The edge response of a frame: that of the region, or of the best edge found. */
export type EdgesRead =
  | (Omit<EdgeMeasured, 'mtf'> & {
      region: Region;
      mtf: ScaledMtfPoint[];
      mtf10SensorPerMm: number | null;
      mtf10ObjectPerMm: number | null;
      /** All edges found, the best first; the one above is the first of them. */
      edges: EdgeSummary[];
    })
  | (EdgeResponse & { kind: 'refused' });

/**
 * Edge response of a region, or, without one, of every usable edge that is found.
 *
 * Model    without a region the whole frame is tried as one edge first (so that a cut-out frame keeps all its rows); where that is no single
 *          edge, findEdges, the best first
 * Input    as measureEdge; pixelPitchUm adds line pairs per mm on the sensor, magnification (image over object) those on the object
 * Returns  the response of the first, and all in short; or the refusal of the region, or of the frame
 * Throws   RangeError as measureEdge, and for a magnification without a pitch.
 */
export function readEdges({
  image,
  region,
  pixelPitchUm,
  magnification,
}: {
  image: GreyImage;
  region?: Region;
  pixelPitchUm?: number;
  magnification?: number;
}): EdgesRead {
  if (magnification !== undefined && pixelPitchUm === undefined) {
    throw new RangeError(`magnification is ${magnification} without pixelPitchUm; allowed: both, or the pitch alone`);
  }
  const scale = {
    ...(pixelPitchUm === undefined ? {} : { pixelPitchUm }),
    ...(magnification === undefined ? {} : { magnification }),
  };
  const first = measureEdge({ image, region: region ?? wholeFrame(image), ...scale });
  if (first.kind === 'measured') {
    const where = region ?? wholeFrame(image);
    return scaled(first, where, [summary(first, where)], scale);
  }
  if (region) return first;
  const found = findEdges({ image }).flatMap(({ region: where }) => {
    const edge = measureEdge({ image, region: where, ...scale });
    return edge.kind === 'measured' ? [{ edge, where }] : [];
  });
  const best = found[0];
  if (best)
    return scaled(
      best.edge,
      best.where,
      found.map(({ edge, where }) => summary(edge, where)),
      scale,
    );
  if (first.reason !== 'two-edges' && first.reason !== 'no-edge') return first;
  return refuseEdge('no-edge', `No usable slanted edge in the frame. As one region: ${first.message}`);
}

const summary = (edge: EdgeMeasured, region: Region): EdgeSummary => ({
  region,
  orientation: edge.orientation,
  edgeAngleDeg: edge.edgeAngleDeg,
  mtf50PerPx: edge.mtf50PerPx,
  mtf50StdPerPx: edge.mtf50StdPerPx,
});

function scaled(
  edge: EdgeMeasured,
  region: Region,
  edges: EdgeSummary[],
  { pixelPitchUm, magnification }: { pixelPitchUm?: number; magnification?: number },
): EdgesRead {
  const sensor = (frequencyPerPx: number) =>
    pixelPitchUm === undefined ? null : perMmFromPerPx({ frequencyPerPx, pixelPitchUm });
  const object = (perPx: number) => {
    const onSensor = sensor(perPx);
    return onSensor === null || magnification === undefined ? null : onSensor * Math.abs(magnification);
  };
  return {
    ...edge,
    region,
    mtf: edge.mtf.map((point) => {
      const [sensorPerMm, objectPerMm] = [sensor(point.frequencyPerPx), object(point.frequencyPerPx)];
      return {
        ...point,
        ...(sensorPerMm === null ? {} : { sensorPerMm }),
        ...(objectPerMm === null ? {} : { objectPerMm }),
      };
    }),
    mtf10SensorPerMm: edge.mtf10PerPx === null ? null : sensor(edge.mtf10PerPx),
    mtf10ObjectPerMm: edge.mtf10PerPx === null ? null : object(edge.mtf10PerPx),
    edges,
  };
}
