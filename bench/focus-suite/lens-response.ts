import { type LensResponse, stationLensResponse } from '../../src/procedures/index.js';
import type { FocusCase } from './focus-case.js';

/** How the lens of a case answers, by its datasheet: what a search may know. */
export const lensResponseOf = ({ station }: FocusCase): LensResponse => stationLensResponse(station);
