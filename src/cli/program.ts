import { Command, Help } from 'commander';
import { softwareVersion } from '../app/index.js';
import { addAutofocus } from './commands/autofocus.js';
import { addCameras, addCheck, addInspect } from './commands/cameras.js';
import { addCommission } from './commands/commission.js';
import { addFollow } from './commands/follow.js';
import { addMeasure } from './commands/measure/index.js';
import { addPlan } from './commands/plan.js';
import { addSearch } from './commands/search.js';
import { addServe } from './commands/serve.js';
import { addSchema, addStations } from './commands/stations.js';
import { addStrategy } from './commands/strategy.js';
import { addTolerance } from './commands/tolerance.js';
import { addTwin } from './commands/twin.js';
import { exitCodes } from './exit-codes.js';

/** The whole command line. */
export function buildProgram(): Command {
  const program = new Command('focuswright');
  program
    .description(
      'Plans, rehearses, commissions, proves and hands over machine-vision stations focused by a tunable lens.',
    )
    .version(softwareVersion)
    .configureHelp({
      optionDescription: (option) => `${new Help().optionDescription(option)}${option.mandatory ? ' (required)' : ''}`,
    })
    .showHelpAfterError('(add --help to see what the command takes)')
    .addHelpText(
      'after',
      `\nExit codes:\n${Object.values(exitCodes)
        .map(({ code, meaning }) => `  ${String(code).padStart(3)}  ${meaning}`)
        .join('\n')}`,
    )
    .exitOverride();
  addStations(program);
  addSchema(program);
  addPlan(program);
  addTolerance(program);
  addStrategy(program);
  addSearch(program);
  addAutofocus(program);
  addFollow(program);
  addCameras(program);
  addInspect(program);
  addCheck(program);
  addCommission(program);
  addMeasure(program);
  addTwin(program);
  addServe(program);
  return program;
}
