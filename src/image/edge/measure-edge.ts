import { degFromRad, perMmFromPerPx, requirePositive } from '../../base/index.js';
import {
  type GreyImage,
  type Region,
  regionInWords,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from '../grey-image.js';
import { type Clipping, clippingOf, isNoiseTail } from './clipping.js';
import { bowPx, type EdgeLine, lineTiltRad } from './edge-line.js';
import { blurVariancePx2 } from './edge-model.js';
import { type EdgeOtf, edgeOtf } from './edge-otf.js';
import { type EdgePatch, edgePatch } from './edge-patch.js';
import { edgeProfile, isStair, noiseOfRowsDn, risesAndFalls } from './edge-profile.js';
import type { EdgeMeasured, EdgeResponse } from './edge-response.js';
import { edgeSpreadFunction, riseDistancePx } from './edge-spread-function.js';
import { type FittedEdge, fitEdge } from './fit-edge.js';
import { frequencyAtMtf } from './frequency-at-mtf.js';
import { refuseEdge } from './refuse-edge.js';
import { roomPx, roughEdge } from './rough-edge.js';

/** Limits outside which an edge is refused. */
const limits = {
  alongPx: 24,
  acrossPx: 16,
  smallestAngleDeg: 1,
  largestAngleDeg: 18,
  clippedShare: 0.002,
  /** Noise over the edge's height above which even a clipped tail of the noise shifts a level too far. */
  clippedNoise: 0.03,
  /** Standard deviation of the MTF where it is one half. */
  mtfStd: 0.05,
  /** Greatest departure from the model, in parts of the edge's height: beyond it there is more than one edge. */
  departure: 0.12,
} as const;

/**
 * Modulation transfer function from one slanted edge, with standard deviations (the measurand of ISO 12233 e-SFR).
 *
 * Model    an edge between two levels (each with a linear light gradient) along a line, bent where that is significant,
 *          through a defocused lens ∗ Gaussian ∗ the pixel's square; what the residuals show beyond that is added as a local
 *          departure, weighed by its evidence. Every pixel enters at its own distance from the edge: no bins to average over, no
 *          derivative filter, no window, and no whole number of edge phases needed, so none of their biases.
 * Input    linear grey values, 8 … 16 bit, no clipping; region of at least 16 px across and 24 px along the edge, edge 1° … 18° off
 *          the pixel rows or columns. pixelPitchUm (and magnification) add MTF50 in line pairs per mm.
 * Returns  MTF along the edge's normal against cycles per pixel (a frequency counted along a pixel row is cos(tilt) times that), or a refusal.
 * Throws   RangeError for a region outside the frame, pitch or magnification ≤ 0.
 * Trust    grey values with a gamma, sharpening or denoising in the camera give the MTF of all that together; flare wider than
 *          the fitted reach (8 blur widths) counts as level, not as blur; noise that is correlated between pixels makes the
 *          standard deviations too small.
 * Source   ISO 12233:2014 e-SFR for the measurand; Hopkins 1955 for the lens; the estimator is derived in docs/image/edge-response.md
 * Checked  closed form: disc ∗ Gaussian ∗ pixel; reference: references/edges (numpy); recovery: errors and 2 σ coverage over random edges
 */
export function measureEdge({
  image,
  region = wholeFrame(image),
  pixelPitchUm,
  magnification,
}: {
  image: GreyImage;
  region?: Region;
  pixelPitchUm?: number;
  magnification?: number;
}): EdgeResponse {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  if (pixelPitchUm !== undefined) requirePositive('pixelPitchUm', pixelPitchUm, 'µm');
  if (magnification !== undefined) requirePositive('magnification', Math.abs(magnification));
  if (Math.min(region.widthPx, region.heightPx) < limits.acrossPx) return tooSmall(region);
  const clipping = clippingOf(image, region);
  if (clipping.share > limits.clippedShare && !isNoiseTail(clipping)) return clipped(clipping);
  const patch = edgePatch(image, region);
  if (patch.rows < limits.alongPx) return tooSmall(region);
  const line = findLine(patch);
  if (line.kind === 'refused') return line;
  const edge = fitEdge(patch, line.rough);
  if (!edge) {
    const blurred = line.rough.blurStdPx > roomPx(patch, line.rough.line) / 4;
    return refuseEdge(blurred ? 'too-blurred' : 'no-edge', 'No blurred step could be fitted inside the region.');
  }
  const { darkDn, brightDn, darkVarianceDn2, brightVarianceDn2 } = edge.levels;
  const noiseDn = Math.sqrt(clipping.end === 'dark' ? darkVarianceDn2 : brightVarianceDn2);
  if (clipping.share > limits.clippedShare && noiseDn > limits.clippedNoise * (brightDn - darkDn))
    return clipped(clipping);
  return refuseFit(patch, edge) ?? report({ patch, edge, pixelPitchUm, magnification });
}

const clipped = ({ share, end }: Clipping): EdgeResponse =>
  refuseEdge(
    'clipped',
    `${(100 * share).toFixed(1)} % of the pixels are at ${end === 'dark' ? 'zero' : 'the largest grey value'}.`,
  );

const tooSmall = (region: Region): EdgeResponse =>
  refuseEdge(
    'region-too-small',
    `The region is ${regionInWords(region)}; needed: ${limits.acrossPx} px across and ${limits.alongPx} px along the edge.`,
  );

/** The rough edge, or why there is not exactly one. */
function findLine(patch: EdgePatch) {
  const upright: EdgeLine = { rows: patch.rows, coefficients: [(patch.columns - 1) / 2] };
  const noiseDn = noiseOfRowsDn(patch);
  const blurred = risesAndFalls(edgeProfile(patch, upright, noiseDn));
  if (blurred.length === 0) return refuseEdge('no-edge', 'The region is plain within its noise.');
  if (blurred.length > 1)
    return refuseEdge('two-edges', `The grey value turns ${blurred.length - 1} times across the region.`);
  const rough = roughEdge(patch);
  if (!rough) return refuseEdge('no-edge', 'No row shows a dark and a bright side.');
  const angle = Math.abs(degFromRad(lineTiltRad(rough.line)));
  if (angle > limits.largestAngleDeg) {
    return refuseEdge(
      'angle-too-large',
      `The edge is tilted by ${angle.toFixed(1)}°; allowed: up to ${limits.largestAngleDeg}°.`,
    );
  }
  const profile = edgeProfile(patch, rough.line, noiseDn);
  if (isStair(profile)) return refuseEdge('two-edges', 'The grey value rises in separate steps.');
  const runs = risesAndFalls(profile);
  if (runs.length > 1 || rough.rowScatterPx > 0.1 * patch.columns) {
    return refuseEdge('two-edges', `The rows place the edge with a scatter of ${rough.rowScatterPx.toFixed(1)} px.`);
  }
  return { kind: 'rough', rough } as const;
}

/** Why a fitted edge cannot be trusted, or null. */
function refuseFit(patch: EdgePatch, edge: FittedEdge): EdgeResponse | null {
  const { darkDn, brightDn, darkVarianceDn2, brightVarianceDn2 } = edge.levels;
  const angle = Math.abs(degFromRad(lineTiltRad(edge.line)));
  if (angle > limits.largestAngleDeg) {
    return refuseEdge(
      'angle-too-large',
      `The edge is tilted by ${angle.toFixed(1)}°; allowed: up to ${limits.largestAngleDeg}°.`,
    );
  }
  const crossedPx = patch.rows * Math.tan(lineTiltRad(edge.line));
  if (angle < limits.smallestAngleDeg || Math.abs(crossedPx) < 1) {
    const crossed = `crosses ${Math.abs(crossedPx).toFixed(2)} pixel columns over ${patch.rows} rows`;
    return refuseEdge(
      'angle-too-small',
      `The edge is tilted by ${angle.toFixed(2)}° and ${crossed}; needed: ${limits.smallestAngleDeg}° and 1.`,
    );
  }
  if (!(brightDn - darkDn > 2 * Math.sqrt(Math.max(darkVarianceDn2, brightVarianceDn2)))) {
    return refuseEdge('no-edge', `The sides differ by ${(brightDn - darkDn).toFixed(1)} DN, within the noise.`);
  }
  const blurPx = Math.sqrt(blurVariancePx2(edge.blur));
  const room = roomPx(patch, edge.line);
  if (room < 3 * blurPx + 1) {
    return refuseEdge(
      'too-blurred',
      `The region reaches ${room.toFixed(0)} px beside an edge that needs ${(3 * blurPx + 1).toFixed(0)} px.`,
    );
  }
  return null;
}

function report({
  patch,
  edge,
  pixelPitchUm,
  magnification,
}: {
  patch: EdgePatch;
  edge: FittedEdge;
  pixelPitchUm: number | undefined;
  magnification: number | undefined;
}): EdgeResponse {
  const otf = edgeOtf(edge);
  const most = otf.departure.reduce((max, v) => Math.max(max, Math.abs(v)), 0);
  if (most > limits.departure) {
    return refuseEdge(
      'two-edges',
      `The edge departs from one blurred step by ${(100 * most).toFixed(0)} % of its height.`,
    );
  }
  const half = frequencyAtMtf(otf, 0.5);
  const noise = otf.at(half?.frequencyPerPx ?? 0.5);
  if (noise.std > limits.mtfStd) {
    return refuseEdge(
      'too-noisy',
      `The MTF is uncertain by ${noise.std.toFixed(2)} where it is ${noise.value.toFixed(2)}.`,
    );
  }
  return describe({ patch, edge, otf, half, pixelPitchUm, magnification });
}

function describe({
  patch,
  edge,
  otf,
  half,
  pixelPitchUm,
  magnification,
}: {
  patch: EdgePatch;
  edge: FittedEdge;
  otf: EdgeOtf;
  half: ReturnType<typeof frequencyAtMtf>;
  pixelPitchUm: number | undefined;
  magnification: number | undefined;
}): EdgeMeasured {
  const { darkDn, brightDn, darkVarianceDn2, brightVarianceDn2 } = edge.levels;
  const tilt = lineTiltRad(edge.line);
  const tenth = frequencyAtMtf(otf, 0.1);
  const sensor =
    half && pixelPitchUm !== undefined ? perMmFromPerPx({ frequencyPerPx: half.frequencyPerPx, pixelPitchUm }) : null;
  const spread = edgeSpreadFunction(edge, otf.departure);
  return {
    kind: 'measured',
    orientation: patch.orientation,
    edgeAngleDeg: degFromRad(patch.mirrored ? -tilt : tilt),
    edgeAngleStdDeg: degFromRad(edge.angleStdRad),
    edgeBowPx: bowPx(edge.line) * Math.cos(tilt),
    darkDn,
    brightDn,
    contrast: (brightDn - darkDn) / (brightDn + darkDn),
    darkNoiseStdDn: Math.sqrt(darkVarianceDn2),
    brightNoiseStdDn: Math.sqrt(brightVarianceDn2),
    riseDistancePx: riseDistancePx(spread),
    mtf: otf.points,
    mtf50PerPx: half?.frequencyPerPx ?? null,
    mtf50StdPerPx: half?.stdPerPx ?? null,
    mtf10PerPx: tenth?.frequencyPerPx ?? null,
    mtf10StdPerPx: tenth?.stdPerPx ?? null,
    edgeSpreadFunction: spread,
    mtf50SensorPerMm: sensor,
    mtf50ObjectPerMm: sensor !== null && magnification !== undefined ? sensor * Math.abs(magnification) : null,
  };
}
