export type {
  BarsRead,
  BarsReading,
  BarsRefusal,
  LastResolved,
  ReadElement,
  SeriesElement,
} from './bars/bar-reading.js';
export { measureBars, rayleighModulation } from './bars/measure-bars.js';
export * from './bayer-plane.js';
export * from './crop-image.js';
export * from './defocus/index.js';
export { drawMarks } from './draw-marks.js';
export { type EdgeMeasured, type EdgeRefusal, type EdgeResponse, type MtfPoint, mtfAt } from './edge/edge-response.js';
export { type FoundEdge, findEdges } from './edge/find-edges.js';
export { measureEdge } from './edge/measure-edge.js';
export { type EdgeSummary, type EdgesRead, readEdges } from './edge/read-edges.js';
export * from './focus-measures/index.js';
export * from './formats/index.js';
export * from './geometry/index.js';
export * from './grey-image.js';
export { greyRange } from './grey-range.js';
export * from './noise/index.js';
export { fewestPeakPoints, fitPeak, type PeakFit } from './peak-fit.js';
export * from './peak-of-three.js';
export { barMarks, edgeMarks, gridMarks, type PictureMark, starMarks } from './picture-mark.js';
export * from './pixel-formats/pixel-format.js';
export * from './pixel-formats/unpack-pixels.js';
export * from './region-statistics.js';
export * from './shrink-image.js';
export * from './stack/index.js';
export * from './star/index.js';
export * from './textured-region.js';
