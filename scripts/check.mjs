// Everything that is checked before the tests run: types of all projects, style, unused files and packages.
import { step } from './steps.mjs';

const passed = await Promise.all([
  step('types', 'tsc', ['-b']),
  step('style', 'biome', ['check', '--max-diagnostics=50']),
  step('unused', 'knip', []),
]);
if (passed.includes(false)) process.exit(1);
