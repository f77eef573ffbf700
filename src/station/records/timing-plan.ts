/** One move of the lens: time until it stays within tolerance, by plain and by shaped commands. null: never, or not to be had. */
export interface MoveTiming {
  fromPlane: string;
  toPlane: string;
  stepDpt: number;
  toleranceDpt: number;
  plainMs: number | null;
  /** Two partial steps; null where nothing rings. */
  zeroVibrationMs: number | null;
  /** Three partial steps, which stand a wrong natural frequency. */
  zeroVibrationDerivativeMs: number | null;
}

/** Where the time of a cycle goes. */
export interface TimingPlan {
  /** Exposure and readout, no less than the frame rate allows. */
  frameMs: number;
  moves: MoveTiming[];
  /** All planes, with shaped commands where they are quicker; null where nothing rings. */
  shapedCycleMs: number | null;
  /** Planes at the mean time of the planned ones that fit into the cycle. */
  planesPerCycleCount: number | null;
  shapedPlanesPerCycleCount: number | null;
}
