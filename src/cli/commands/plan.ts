import type { Command } from 'commander';
import { Option } from 'commander';
import { loadStation, runPlan, runSharpness } from '../../app/index.js';
import type { Verdict } from '../../base/index.js';
import { exitCodes } from '../exit-codes.js';
import { writeResult } from '../output.js';
import { planText } from '../plan-text.js';

interface PlanOptions {
  json?: boolean;
  require?: 'meets' | 'marginal';
}

/** `focuswright plan STATION` */
export function addPlan(program: Command): void {
  program
    .command('plan')
    .summary('predict what a station can do, and judge it against its task')
    .description(
      'Predicts reach, magnification, field, depth of field, resolution, light and time of a station from its datasheet values, and gives a verdict against its task: meets, marginal, fails or unknown, with reasons and remedies.',
    )
    .argument('<station>', 'station file (YAML), or the name of a demonstration station')
    .option('--json', 'write the whole plan as JSON, with sharpness over field and distance')
    .addOption(
      new Option('--require <verdict>', `exit with ${exitCodes.notMet.code} if the verdict is worse`).choices([
        'meets',
        'marginal',
      ]),
    )
    .action(async (path: string, options: PlanOptions) => {
      const loaded = await loadStation(path);
      const plan = runPlan(loaded);
      const sharpness = runSharpness(loaded);
      writeResult({ ...plan, sharpness }, { json: options.json, text: () => planText(plan, sharpness) });
      if (options.require && !satisfies(plan.verdict, options.require)) process.exitCode = exitCodes.notMet.code;
    });
}

function satisfies(verdict: Verdict, required: 'meets' | 'marginal'): boolean {
  return verdict === 'meets' || (required === 'marginal' && verdict === 'marginal');
}
