import { degFromRad, type Estimate, requirePositive } from '../../base/index.js';
import { clippedFrame } from '../clipped-frame.js';
import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { findCorners } from './find-corners.js';
import { findDots } from './find-dots.js';
import { fitGrid, type GridFit, gridToPicture } from './fit-grid.js';
import { type LatticePoint, latticeOf } from './lattice.js';

export type GridPattern = 'dots' | 'checker';

/** A point of the target, where it was found and how far the fit misses it. */
export interface GridReadingPoint {
  column: number;
  row: number;
  xPx: number;
  yPx: number;
  residualXPx: number;
  residualYPx: number;
}

/** Scale and geometry read from a dot grid or checkerboard, or why they cannot be. */
export type GridReading =
  | {
      kind: 'measured';
      pattern: GridPattern;
      pitchMm: number;
      pointCount: number;
      /** Object size of a pixel in the middle of the frame (root of the area), and along rows and columns of the target. */
      pixelMm: Estimate;
      pixelAlongRowsMm: number;
      pixelAlongColumnsMm: number;
      /** Turn of the target's rows, clockwise from the horizontal of the picture. */
      rotationDeg: Estimate;
      /** Change of scale by perspective from the left to the right edge, and from top to bottom, as a fraction. */
      perspectiveXFraction: number;
      perspectiveYFraction: number;
      /** Radial distortion at half the frame's diagonal from its centre: (found − undistorted)/undistorted. */
      cornerDistortionFraction: Estimate;
      distortionK1: Estimate;
      /** Null where a second term was not significant. */
      distortionK2: Estimate | null;
      distortionCentreXPx: Estimate;
      distortionCentreYPx: Estimate;
      /** Radius that counts as 1 in the polynomial: half the diagonal. */
      unitRadiusPx: number;
      residualRmsPx: number;
      points: GridReadingPoint[];
    }
  | {
      kind: 'refused';
      reason: 'no-grid' | 'too-few' | 'poor-fit';
      message: string;
      remedy: string;
    };

const fewestPoints = 20;
const largestResidualPx = 1;

/**
 * Scale, turn, perspective and radial distortion from a grid of known pitch.
 *
 * Model    target → plane perspective (8) → radial distortion about a free centre → picture, least squares over all points;
 *          the centre is held near the frame's by a prior of a tenth of the diagonal, since without distortion nothing tells it
 * Formula  p = c + (u − c)(1 + k1 r² + k2 r⁴), r = |u − c| / half diagonal; k2 only where it is four deviations from 0
 * Input    8 … 16 bit; `pitchMm` from dot to dot, or corner to corner; `pattern` null: whichever gives more points
 * Returns  see GridReading; deviations from the fit's covariance and its own residual
 * Throws   RangeError naming the field, if the pitch is not > 0.
 * Trust    a target that is not flat looks like distortion; perspective cannot be told from a slope of the target.
 * Source   radial polynomial: D. C. Brown, Photogrammetric Engineering 37, 855 (1971) (from memory)
 * Checked  reference: grids rendered by numpy, OpenCV's calibrateCamera, tests/image/geometry/grid-target.test.ts
 */
export function measureGrid({
  image,
  pitchMm,
  pattern = null,
}: {
  image: GreyImage;
  pitchMm: number;
  pattern?: GridPattern | null | undefined;
}): GridReading {
  requireGreyImage('image', image);
  requirePositive('pitchMm', pitchMm, 'mm');
  const { name, points } = latticeFound(image, pattern);
  if (points.length === 0) {
    const clipped = clippedFrame(image);
    if (clipped) return refused('no-grid', clipped.message, clipped.remedy);
    return refused(
      'no-grid',
      'No regular grid was found.',
      'Check pattern, focus and light; dots or squares should be at least 12 pixels apart.',
    );
  }
  if (points.length < fewestPoints) {
    return refused(
      'too-few',
      `The grid found has ${points.length} points; ${fewestPoints} are needed.`,
      'Show more of the target, or a finer one.',
    );
  }
  const { widthPx, heightPx } = image;
  const fit = fitGrid({ points, pitchMm, widthPx, heightPx });
  if (fit === null || fit.residualRmsPx > largestResidualPx) {
    return refused(
      'poor-fit',
      `A flat grid with radial distortion misses the points by ${fit ? fit.residualRmsPx.toFixed(2) : 'any number of'} px rms.`,
      'Check that the target is flat and its pitch even, and that nothing covers it.',
    );
  }
  return readingOf(fit, { name, pitchMm, widthPx, heightPx });
}

/** Rounder than this, parts are dots: squares that lie alike have 0.4, blurred ones some 0.2. */
const mostSquarenessRatio = 0.1;
/** Between the dots of a grid there are fewer parts of the other polarity than this share of them. */
const mostOtherShare = 0.6;

/**
 * The points of one pattern; without a wish, of the one that is there.
 *
 * Model    the saddles between big dots make a grid of their own, twice as dense, as a checkerboard's squares make one of dots: round
 *          parts of one polarity are dots, whatever else is found
 */
function latticeFound(image: GreyImage, wanted: GridPattern | null): { name: GridPattern; points: LatticePoint[] } {
  const corners = () => ({ name: 'checker' as const, points: latticeOf(findCorners(image)) });
  if (wanted === 'checker') return corners();
  const found = findDots(image);
  const dots = { name: 'dots' as const, points: latticeOf(found.points) };
  if (wanted === 'dots') return dots;
  const areDots =
    found.squarenessRatio < mostSquarenessRatio &&
    found.otherCount < mostOtherShare * found.points.length &&
    dots.points.length >= Math.max(fewestPoints, 0.5 * found.points.length);
  if (areDots) return dots;
  const checker = corners();
  return checker.points.length > dots.points.length ? checker : dots;
}

function readingOf(
  fit: GridFit,
  { name, pitchMm, widthPx, heightPx }: { name: GridPattern; pitchMm: number; widthPx: number; heightPx: number },
): GridReading {
  const { parameters, unitRadiusPx } = fit;
  const at = (xPx: number, yPx: number) => (p: readonly number[]) => localScale(p, xPx, yPx, unitRadiusPx);
  const [mx, my] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  const middle = at(mx, my);
  const perspective = (a: number, b: number) => b / a - 1;
  const undistorted = parameters.map((value, i) => (i === 8 || i === 9 ? 0 : value));
  const flat = (xPx: number, yPx: number) => at(xPx, yPx)(undistorted).pixelMm;
  const k1 = fit.estimate((p) => p[8]!);
  return {
    kind: 'measured',
    pattern: name,
    pitchMm,
    pointCount: fit.residuals.length,
    pixelMm: fit.estimate((p) => middle(p).pixelMm),
    pixelAlongRowsMm: middle(parameters).alongRowsMm,
    pixelAlongColumnsMm: middle(parameters).alongColumnsMm,
    rotationDeg: fit.estimate((p) => middle(p).rotationDeg),
    perspectiveXFraction: perspective(flat(0, my), flat(widthPx - 1, my)),
    perspectiveYFraction: perspective(flat(mx, 0), flat(mx, heightPx - 1)),
    cornerDistortionFraction: fit.estimate((p) => p[8]! + p[9]!),
    distortionK1: k1,
    distortionK2: fit.hasK2 ? fit.estimate((p) => p[9]!) : null,
    distortionCentreXPx: fit.estimate((p) => p[10]!),
    distortionCentreYPx: fit.estimate((p) => p[11]!),
    unitRadiusPx,
    residualRmsPx: fit.residualRmsPx,
    points: fit.residuals,
  };
}

/** Scale and turn where the picture has a given place: Newton to the target's place, then differences. */
function localScale(p: readonly number[], xPx: number, yPx: number, unitRadiusPx: number) {
  let [x, y] = [0, 0];
  const place = (u: number, v: number) => gridToPicture(p, u, v, unitRadiusPx);
  const stepMm = 1e-3;
  const slopes = () => {
    const [a, b] = [place(x + stepMm, y), place(x - stepMm, y)];
    const [c, d] = [place(x, y + stepMm), place(x, y - stepMm)];
    return [
      (a[0] - b[0]) / (2 * stepMm),
      (a[1] - b[1]) / (2 * stepMm),
      (c[0] - d[0]) / (2 * stepMm),
      (c[1] - d[1]) / (2 * stepMm),
    ] as const;
  };
  for (let pass = 0; pass < 20; pass++) {
    const [px, py] = place(x, y);
    const [xx, yx, xy, yy] = slopes();
    const det = xx * yy - xy * yx;
    const [ex, ey] = [xPx - px, yPx - py];
    x += (yy * ex - xy * ey) / det;
    y += (xx * ey - yx * ex) / det;
    if (Math.hypot(ex, ey) < 1e-9) break;
  }
  const [xx, yx, xy, yy] = slopes();
  return {
    pixelMm: 1 / Math.sqrt(Math.abs(xx * yy - xy * yx)),
    alongRowsMm: 1 / Math.hypot(xx, yx),
    alongColumnsMm: 1 / Math.hypot(xy, yy),
    rotationDeg: degFromRad(Math.atan2(yx, xx)),
  };
}

const refused = (reason: 'no-grid' | 'too-few' | 'poor-fit', message: string, remedy: string): GridReading => ({
  kind: 'refused',
  reason,
  message,
  remedy,
});
