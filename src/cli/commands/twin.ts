import { type Command, InvalidArgumentError, Option } from 'commander';
import { loadStation, servedFaultNames, serveTwin } from '../../app/index.js';
import { wholeNumber } from '../whole-number.js';

interface TwinOptions {
  gige: string;
  serial?: string;
  seed?: number;
  faults?: string[];
  initialiseFirst?: boolean;
  silentMotion?: boolean;
  lens: 'power' | 'current';
  focusAuto?: boolean;
  outOfRange: 'refuse' | 'clamp';
  scene: 'station' | 'plain';
  secondPlane: number;
  endWithStdin?: boolean;
  json?: boolean;
}

const faultLines = Object.entries(servedFaultNames)
  .map(
    ([name, { means, usualValue }]) => `  ${name.padEnd(22)}${means}${usualValue === null ? '' : ` (${usualValue})`}`,
  )
  .join('\n');

/** `focuswright twin` */
export function addTwin(program: Command): void {
  program
    .command('twin')
    .summary('serve the simulated station as a GigE Vision camera')
    .description(
      'Serves the simulated station as a GigE Vision camera with a GenICam description, in real time, until Ctrl-C. Any GenICam client on this machine can open it. All that it shows is simulated, and it says so in its model name.\n\nThe port (UDP 3956) is fixed by the standard: one camera an address. 127.0.0.2, 127.0.0.3 … serve a second and third.',
    )
    .argument('<station>', 'station file (YAML), or the name of a demonstration station')
    .requiredOption('--gige <address>', 'address of this machine to serve at, such as 127.0.0.1', ipAddress)
    .option('--serial <text>', 'serial number (default: made from the station’s name and the seed)', serialNumber)
    .option('--seed <number>', 'seed of hidden build errors and noise (default: the station file’s)', wholeNumber)
    .option('--faults <name...>', 'what goes wrong: NAME or NAME=NUMBER, several with spaces between; names below')
    .option('--initialise-first', 'the lens takes no power before OpticControllerInitialize')
    .option('--silent-motion', 'the status of the lens never says Busy')
    .addOption(
      new Option(
        '--lens <drive>',
        'FocalPower in dpt after the standard, or LensCurrent in mA, for which it has no name',
      )
        .choices(['power', 'current'])
        .default('power'),
    )
    .option('--focus-auto', 'the camera has an autofocus of its own, on until a client sets FocusAuto to Off')
    .addOption(
      new Option(
        '--out-of-range <what>',
        'what becomes of a number outside its range (counted in OutOfRangeWriteCount)',
      )
        .choices(['refuse', 'clamp'])
        .default('refuse'),
    )
    .addOption(
      new Option('--scene <what>', 'what lies before the lens: as the station file says, or a card without texture')
        .choices(['station', 'plain'])
        .default('station'),
    )
    .option('--second-plane <mm>', 'the right half of the field lies so much farther than the target', distanceMm, 0)
    .option('--end-with-stdin', 'end when standard input closes: for programs that start this one')
    .option('--json', 'write the line that says it is served as JSON')
    .addHelpText('after', `\nFaults, what their number means, and its usual value:\n${faultLines}`)
    .action(async (path: string, options: TwinOptions) => {
      const { station } = await loadStation(path);
      const seed = options.seed ?? station.rehearsal.seed;
      const served = await serveTwin({
        station,
        host: options.gige,
        seed,
        serialNumber: options.serial ?? `${station.station.slice(0, 9)}-${seed % 100000}`,
        faults: options.faults ?? [],
        initialiseFirst: options.initialiseFirst ?? false,
        silentMotion: options.silentMotion ?? false,
        lensDrive: options.lens,
        focusAuto: options.focusAuto ?? false,
        outOfRange: options.outOfRange,
        scene: options.scene,
        secondPlaneMm: options.secondPlane,
      });
      const { serialNumber: serial, modelName, targetDistanceMm } = served;
      process.stdout.write(
        options.json
          ? `${JSON.stringify({ state: 'served', address: options.gige, serialNumber: serial, modelName, targetDistanceMm, simulated: true, processId: process.pid })}\n`
          : `Served at ${options.gige} as "${modelName}", serial number ${serial} (Ctrl-C ends it)\nIts target stands at ${targetDistanceMm} mm; a client places it elsewhere by the feature TargetDistance.\n`,
      );
      let isEnding = false;
      const end = () => {
        if (isEnding) return;
        isEnding = true;
        process.stdin.destroy();
        void served.close();
      };
      process.on('SIGINT', end);
      process.on('SIGTERM', end);
      if (options.endWithStdin) process.stdin.resume().once('close', end).once('end', end);
    });
}

function ipAddress(text: string): string {
  const parts = text.split('.');
  if (parts.length !== 4 || parts.some((part) => !/^\d{1,3}$/.test(part) || Number(part) > 255) || text === '0.0.0.0')
    throw new InvalidArgumentError('allowed: the IPv4 address of one interface, such as 127.0.0.1.');
  return text;
}

function distanceMm(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(Math.abs(value) <= 10_000)) {
    throw new InvalidArgumentError('allowed: a distance from −10000 to 10000 mm.');
  }
  return value;
}

function serialNumber(text: string): string {
  if (!/^[\x21-\x7e]{1,15}$/.test(text))
    throw new InvalidArgumentError('allowed: 1 to 15 characters without spaces (the standard leaves no more room).');
  return text;
}
