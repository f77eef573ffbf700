import {
  budgetBarsFigure,
  contrastOverDistanceFigure,
  mtfCurvesFigure,
  powerDistanceFigure,
  rayDrawingFigure,
} from '../figures/index.js';
import type { Markup } from '../markup.js';
import { type FigureBlocks, section } from './parts.js';
import type { HandoverInput } from './run.js';

/** The layout with its rays, and which power focuses which distance. */
export function layoutSection({ commission, plan, station }: HandoverInput, figures: FigureBlocks): Markup {
  return section(
    'layout',
    'Layout and reach',
    figures.block((size) => rayDrawingFigure({ station, plan }, size), { heightPx: 340, narrowHeightPx: 520 }),
    figures.block((size) => powerDistanceFigure({ station, plan, calibration: commission.calibration }, size), {
      heightPx: 330,
      narrowHeightPx: 320,
    }),
  );
}

/** What contrast the layout should show: over frequency in focus, and over distance. */
export function sharpnessSection({ station, sharpness }: HandoverInput, figures: FigureBlocks): Markup {
  return section(
    'sharpness',
    'Predicted sharpness',
    figures.block((size) => mtfCurvesFigure({ station, sharpness }, size), { heightPx: 260, narrowHeightPx: 600 }),
    figures.block((size) => contrastOverDistanceFigure({ station, sharpness }, size), {
      heightPx: 300,
      narrowHeightPx: 280,
    }),
  );
}

/** What moves the focus, against depth of field. */
export function budgetSection({ plan }: HandoverInput, figures: FigureBlocks): Markup {
  return section(
    'budget',
    'Focus budget',
    figures.block((size) => budgetBarsFigure({ budget: plan.budget }, size), { heightPx: 220, narrowHeightPx: 400 }),
  );
}
