export * from './autofocus/focus-strategy.js';
export * from './autofocus/focus-strategy-rows.js';
export * from './autofocus/predict-autofocus.js';
export * from './plan-sharpness.js';
export * from './plan-station.js';
export * from './search/index.js';
export * from './tolerance/tolerance-run.js';
