import { bench, describe } from 'vitest';
import {
  type ClassicMethodName,
  type ClassicOptions,
  classicMethod,
  modelFocus,
  runFocusSearch,
  stationFocusOptics,
} from '../src/procedures/index.js';
import { lensResponseOf } from './focus-suite/lens-response.js';
import { type FocusRunner, runSuite, suiteCases } from './focus-suite/run-suite.js';
import { suiteTable } from './focus-suite/suite-table.js';

/** FOCUS_SUITE_EVERY=10 runs every tenth case. */
const every = Number(process.env.FOCUS_SUITE_EVERY ?? 1);

const classic =
  (name: ClassicMethodName, options?: ClassicOptions): FocusRunner =>
  (focusCase, camera) =>
    runFocusSearch({
      camera,
      region: focusCase.region,
      response: lensResponseOf(focusCase),
      method: classicMethod(name, options),
    });

const model =
  (isKnown: boolean): FocusRunner =>
  (focusCase, camera) =>
    runFocusSearch({
      camera,
      region: focusCase.region,
      response: lensResponseOf(focusCase),
      method: modelFocus({ optics: isKnown ? stationFocusOptics(focusCase.station) : null }),
    });

const runners = {
  'model, optics known': model(true),
  'model, optics unknown': model(false),
  'full sweep, Gaussian': classic('full-sweep'),
  'full sweep, parabola': classic('full-sweep', { fit: 'parabola' }),
  'hill climb': classic('hill-climb'),
  Fibonacci: classic('fibonacci'),
  'golden section': classic('golden-section'),
};

const outcomes = await runSuite({ cases: suiteCases({ every }), runners });
for (const [name, held] of Object.entries(outcomes)) process.stdout.write(`\n${suiteTable(name, held)}\n`);

describe('autofocus, one case of the suite, frames drawn included', () => {
  const cases = suiteCases({ every: 1000, kinds: ['well-exposed'] });
  for (const [name, run] of Object.entries(runners)) {
    bench(name, async () => void (await runSuite({ cases, runners: { [name]: run } })), { iterations: 2, time: 0 });
  }
});
