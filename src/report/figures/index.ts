export { type BudgetBarsInput, budgetBarsFigure, budgetTermNames } from './budget-bars.js';
export { type CalibrationResidualsInput, calibrationResidualsFigure } from './calibration-residuals.js';
export { contrastOverDistanceFigure, type OverDistanceInput } from './contrast-over-distance.js';
export { type DistortionMapInput, distortionMapFigure } from './distortion-map.js';
export { type EdgeResponseInput, edgeResponseFigure } from './edge-response.js';
export { type FieldLightInput, fieldLightFigure } from './field-light.js';
export { fieldOverDistanceFigure } from './field-over-distance.js';
export type { Figure, FigureSize } from './figure.js';
export { type FocusSearchInput, focusSearchFigure } from './focus-search.js';
export { type FocusStrategyInput, focusStrategyFigure } from './focus-strategy.js';
export {
  type ContrastSeries,
  type FrameContrastInput,
  frameContrastFigure,
  type MeasuredContrast,
} from './frame-contrast.js';
export { type FramePictureInput, framePictureFigure } from './frame-picture.js';
export { type HeightMapInput, heightMapFigure } from './height-map.js';
export { type MarkedPictureInput, markedPictureFigure } from './marked-picture.js';
export { type MtfCurvesInput, mtfCurvesFigure } from './mtf-curves.js';
export { type PartsInput, partsFigure } from './parts.js';
export { type PowerDistanceInput, powerDistanceFigure } from './power-distance.js';
export { type RayDrawingInput, rayDrawingFigure } from './ray-drawing.js';
export { type ScaleOverPowerInput, scaleOverPowerFigure } from './scale-over-power.js';
export { type StarInput, starFigure } from './star.js';
export { type ThroughFocusInput, throughFocusFigure, throughFocusInput } from './through-focus.js';
export { type ToleranceBarsInput, toleranceBarsFigure } from './tolerance-bars.js';
