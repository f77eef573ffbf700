import type { Canvas } from './canvas.js';
import { paintPolygon, turnedSquare } from './paint-polygon.js';

/** What a scene must fit: the field at the largest and at the smallest magnification that it will be seen with. */
export interface FieldOfScene {
  /** Field that is always seen, at the largest magnification. */
  nearWidthMm: number;
  nearHeightMm: number;
  /** Field at the smallest magnification. */
  farWidthMm: number;
  farHeightMm: number;
  /** Size on the object of a pixel at the smallest magnification. */
  farPixelMm: number;
}

/** Sides of a chart square in pixels at the smallest magnification. */
const squarePx = 132;
const edgeAngleDeg = 5;
const cardReflectance = 0.82;
const squareReflectance = 0.12;

/** The commissioning chart near the middle of a scene. */
export interface Chart {
  cardWidthMm: number;
  cardHeightMm: number;
  squareSideMm: number;
  /** Middles of the squares, on the horizontal through the middle of the field. */
  squareMiddlesMm: number[];
}

/**
 * The card with slanted squares that every scene carries: dark on light, turned by 5°, so that each has near-vertical and
 * near-horizontal edges.
 *
 * Model    squares of 132 pixels at the smallest magnification, smaller where the field is small; two where they fit side by
 *          side in the field that is always seen, with free scene between them; otherwise one, so that an edge passes near
 *          the middle
 */
export function chartFor(field: FieldOfScene): Chart {
  const least = Math.min(field.nearHeightMm * 0.62, field.nearWidthMm * 0.62);
  const squareSideMm = Math.min(squarePx * field.farPixelMm, least);
  const cardHeightMm = squareSideMm * 1.5;
  const two = field.nearWidthMm >= 4.2 * squareSideMm;
  return {
    squareSideMm,
    cardHeightMm,
    cardWidthMm: squareSideMm * 1.5,
    squareMiddlesMm: two ? [-1.05 * squareSideMm, 1.05 * squareSideMm] : [-0.35 * squareSideMm],
  };
}

/** Paints the cards and squares. */
export function paintChart(canvas: Canvas, chart: Chart): void {
  chart.squareMiddlesMm.forEach((xMm, i) => {
    const middle = { xMm, yMm: 0 };
    paintPolygon(
      canvas,
      [
        { xMm: xMm - chart.cardWidthMm / 2, yMm: -chart.cardHeightMm / 2 },
        { xMm: xMm + chart.cardWidthMm / 2, yMm: -chart.cardHeightMm / 2 },
        { xMm: xMm + chart.cardWidthMm / 2, yMm: chart.cardHeightMm / 2 },
        { xMm: xMm - chart.cardWidthMm / 2, yMm: chart.cardHeightMm / 2 },
      ],
      cardReflectance,
    );
    const angleDeg = i % 2 === 0 ? edgeAngleDeg : -edgeAngleDeg;
    paintPolygon(canvas, turnedSquare({ middle, sideMm: chart.squareSideMm, angleDeg }), squareReflectance);
  });
}

/** True where a circle keeps clear of the cards. */
export function clearOfChart(chart: Chart, xMm: number, yMm: number, radiusMm: number): boolean {
  return chart.squareMiddlesMm.every(
    (middleMm) =>
      Math.abs(xMm - middleMm) > chart.cardWidthMm / 2 + radiusMm || Math.abs(yMm) > chart.cardHeightMm / 2 + radiusMm,
  );
}
