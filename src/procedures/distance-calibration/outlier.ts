import { type BuildModel, predictCommand } from './fit-build.js';
import { reducedChiSquareOf } from './maximum-a-posteriori.js';
import type { CalibrationDatum } from './observation.js';
import { fitReleased } from './released-tolerances.js';

/** Standard deviations beyond which the worst point is an outlier: two-sided 0.5 % over seven points is 3.4. */
const limitSigmas = 3.5;

/**
 * The one point that the others contradict, by its index; null where there is none.
 *
 * Model    leave one out: the others are fitted and predict the point. Where they scatter more than they claim
 *          (reduced χ² above 1), their own scatter is the measure.
 * Formula  t = |value − prediction| / √((σ² + σ_prediction²) · max(1, χ²_red)); the largest t, where it exceeds 3.5
 * Trust    one outlier at most: two that agree with each other hide.
 */
export function outlierOf(model: BuildModel, data: readonly CalibrationDatum[]): number | null {
  const scores = data.map((datum, i) => {
    const others = data.filter((_, k) => k !== i);
    const { model: released, fit } = fitReleased(model, others, [datum.workingDistanceMm]);
    const predicted = predictCommand(released, fit, datum.workingDistanceMm);
    const scatter = Math.sqrt(Math.max(1, reducedChiSquareOf(fit)));
    return (
      Math.abs(datum.value - predicted.focalPowerDpt) / (Math.hypot(datum.std, predicted.focalPowerStdDpt) * scatter)
    );
  });
  const worst = scores.indexOf(Math.max(...scores));
  return worst >= 0 && scores[worst]! > limitSigmas ? worst : null;
}
