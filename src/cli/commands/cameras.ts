import type { Command } from 'commander';
import {
  type CameraInspection,
  checkMachine,
  inspectCamera,
  listCameras,
  type MachineCheck,
  type ReachableCamera,
} from '../../app/index.js';
import { connectionCautions } from '../../station/index.js';
import { exitCodes } from '../exit-codes.js';
import { textTable, verdictText, withMinusSigns, writeResult } from '../output.js';

/** `focuswright cameras` */
export function addCameras(program: Command): void {
  program
    .command('cameras')
    .summary('list the GenICam cameras that answer now')
    .description(
      'Asks network and USB for GigE Vision and USB3 Vision cameras, and lists those that answer. Takes a second.',
    )
    .option('--json', 'write the list as JSON')
    .action(async (options: { json?: boolean }) => {
      const cameras = await listCameras();
      writeResult(cameras, { json: options.json, text: () => camerasText(cameras) });
    });
}

function camerasText(cameras: readonly ReachableCamera[]): string {
  if (cameras.length === 0) {
    return 'No camera answers. Check cable, supply, IP address and subnet, and the firewall; `focuswright check` looks at this machine.';
  }
  const table = textTable([
    ['address', 'vendor', 'model', 'serial number', 'protocol'],
    ...cameras.map((c) => [c.address, c.vendor, c.model, c.serialNumber, c.protocol]),
  ]);
  return [table, '', ...connectionCautions(null).map((caution) => `Caution: ${caution}`)].join('\n');
}

/** `focuswright inspect CAMERA` */
export function addInspect(program: Command): void {
  program
    .command('inspect')
    .summary('tell identity and features of a camera, and what a feature map would need')
    .description(
      'Opens a camera, moves nothing, and tells its identity, the features that matter for focus with their ranges and access, and what controls.featureMap in the station file would have to say where it does not keep to the standard.',
    )
    .argument('<camera>', 'genicam:CAMERA, or CAMERA alone: IP address, serial number or id')
    .option('--all', 'list every feature, not only those that matter for focus')
    .option('--json', 'write all features as JSON')
    .action(async (camera: string, options: { all?: boolean; json?: boolean }) => {
      const inspection = await inspectCamera(camera);
      writeResult(inspection, { json: options.json, text: () => inspectionText(inspection, options.all ?? false) });
    });
}

function inspectionText(found: CameraInspection, all: boolean): string {
  const { vendor, model, serialNumber, packetBytes, lens } = found;
  const rows = found.features
    .filter(({ matters }) => all || matters)
    .map(({ name, kind, access, valueText, min, max, unit, entries }) => [
      name,
      kind,
      access,
      valueText ?? '–',
      entries.length > 0
        ? entries.join(' ')
        : min === null && max === null
          ? ''
          : `${min ?? '?'} … ${max ?? '?'} ${unit ?? ''}`,
    ]);
  const needs = found.featureMapNeeds.map(
    ({ key, why, candidates }) =>
      `  ${key}: ${why}${candidates.length > 0 ? `; it may be ${candidates.join(', ')}` : '; no feature sounds like it'}`,
  );
  return withMinusSigns(
    [
      `${vendor} ${model}, serial number ${serialNumber || 'not told'}${found.simulated ? ' (simulated)' : ''}`,
      packetBytes === null ? 'USB3 Vision' : `GigE Vision, packets of ${packetBytes} bytes`,
      lens
        ? `Lens: ${lens.powerMinDpt} … ${lens.powerMaxDpt} dpt`
        : 'Lens: none that can be commanded by the names of the standard; frames can still be measured',
      '',
      textTable([['feature', 'kind', 'access', 'value', 'allowed'], ...rows]),
      '',
      needs.length > 0 ? ['What a feature map would have to say:', ...needs].join('\n') : 'No feature map is needed.',
    ].join('\n'),
  );
}

/** `focuswright check` */
export function addCheck(program: Command): void {
  program
    .command('check')
    .summary('look whether this machine is ready for a real camera')
    .description(
      'Looks at library, network buffer, permissions, packet size, clock and disk, and says the remedy for each that is wanting. Exit code 4 when one of them fails.',
    )
    .option('--json', 'write the checks as JSON')
    .action(async (options: { json?: boolean }) => {
      const checks = await checkMachine({ folder: process.cwd() });
      writeResult(checks, { json: options.json, text: () => checks.map(checkText).join('\n') });
      if (checks.some(({ verdict }) => verdict === 'fails')) process.exitCode = exitCodes.notMet.code;
    });
}

const checkText = ({ name, verdict, found, remedy }: MachineCheck): string =>
  `${verdictText(verdict)}  ${name}: ${found}${remedy ? `\n    → ${remedy}` : ''}`;
