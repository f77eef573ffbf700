export { type BlurMemory, rememberingFocus } from './autofocus/blur-memory.js';
export { type ChosenRegion, chooseFocusRegion } from './autofocus/choose-region.js';
export {
  type ClassicMethodName,
  type ClassicOptions,
  classicMethod,
} from './autofocus/classic/classic-method.js';
export type { SweepFit } from './autofocus/classic/full-sweep.js';
export { type ArrivedPart, type FollowPartsRequest, followParts } from './autofocus/follow-parts.js';
export { deviceLensResponse, stationLensResponse } from './autofocus/known-response.js';
export type { FocusLimits, FocusMethod, FocusSearch, FocusStep, FocusTask, FocusView } from './autofocus/method.js';
export { type FocusOptics, stationFocusOptics, unknownFocusOptics } from './autofocus/model/focus-optics.js';
export { modelFocus } from './autofocus/model/model-focus.js';
export type { PowerForecast } from './autofocus/part-expectation.js';
export { type AutofocusRequest, runAutofocus } from './autofocus/run.js';
export { type RegionChoice, type RegionsResult, regionChoices, runFocusRegions } from './autofocus/run-regions.js';
export {
  type FocusProgress,
  type FocusSearchRequest,
  type LensResponse,
  runFocusSearch,
} from './autofocus/run-search.js';
export { type CommissionParts, type CommissionResult, runCommission } from './commission/run.js';
export { expectedFocus } from './distance-calibration/expectation.js';
export { fitDistanceCalibration } from './distance-calibration/fit.js';
export {
  distanceForPower,
  type FittedCalibration,
  type LensTemperature,
  powerForDistance,
} from './distance-calibration/lookup.js';
export type { FocusObservation } from './distance-calibration/observation.js';
export { runDistanceCalibration } from './distance-calibration/run.js';
export { targetDistancesMm } from './distance-calibration/target-distances.js';
export { focusHalfWidthDpt } from './focus-half-width.js';
export { runResolutionCheck } from './resolution-check/run.js';
export { beginRun, type Run, type RunJournal } from './run-context.js';
export { planSweep, type SweepPlan } from './sweep/plan.js';
