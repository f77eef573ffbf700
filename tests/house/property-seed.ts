import fc from 'fast-check';

/**
 * Property tests draw the same cases each time, so that a run is red for what has changed alone. Look for new
 * counterexamples with `PROPERTY_SEED=random npx vitest run`, or any whole number.
 */
const wanted = process.env.PROPERTY_SEED ?? '1288';
if (wanted !== 'random') fc.configureGlobal({ seed: Number(wanted) });
