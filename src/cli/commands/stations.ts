import { readFile } from 'node:fs/promises';
import type { Command } from 'commander';
import { demoStationNames, loadStation, packageFile } from '../../app/index.js';
import { writeResult } from '../output.js';

/** `focuswright stations [NAME]` */
export function addStations(program: Command): void {
  program
    .command('stations')
    .summary('list the demonstration stations, or print one to start from')
    .description(
      'Lists the demonstration stations (invented data). With a name, prints that station file: a start for your own.',
    )
    .argument('[name]', 'demonstration station to print')
    .option('--json', 'write the list, or the named station, as JSON')
    .action(async (name: string | undefined, options: { json?: boolean }) => {
      if (name !== undefined) {
        const { station, yaml } = await loadStation(name);
        if (options.json) writeResult(station, { json: true, text: () => yaml });
        else process.stdout.write(yaml);
        return;
      }
      const list = await Promise.all(
        demoStationNames().map(async (station) => ({
          station,
          description: (await loadStation(packageFile(`stations/${station}.yaml`))).station.task.description,
        })),
      );
      writeResult(list, {
        json: options.json,
        text: () => list.map(({ station, description }) => `${station}\n    ${description}`).join('\n'),
      });
    });
}

/** `focuswright schema` */
export function addSchema(program: Command): void {
  program
    .command('schema')
    .summary('print the JSON Schema of the station file')
    .description('Prints the published JSON Schema of the station file, for editors that check and complete YAML.')
    .action(async () => {
      process.stdout.write(await readFile(packageFile('schema/station.schema.json'), 'utf8'));
    });
}
