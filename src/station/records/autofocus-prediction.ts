/** A way to find focus, with the best that any estimator could make of its frames. */
export interface FocusSearchPrediction {
  name: 'three-probes' | 'sweep';
  /** Powers of the frames. */
  probesDpt: number[];
  /** Cramér–Rao bound of best focus, 1σ, for the scene's assumed texture. */
  boundStdDpt: number;
  /** The same with repeatability and control step of the last move. */
  finalStdDpt: number;
  /** Probability that the lens ends inside the depth of field. */
  insideProbability: number;
  /** From the park power over all frames to the confirming frame; null where the lens never settles. */
  timeMs: number | null;
}

/** Autofocus as predicted at the plane where it is hardest. */
export interface AutofocusPrediction {
  plane: string;
  workingDistanceMm: number;
  /** Side of the square region. */
  regionPx: number;
  /** Contrast of the texture over the noise of one pixel. */
  contrastToNoiseRatio: number;
  searches: FocusSearchPrediction[];
}
