import { type Command, InvalidArgumentError } from 'commander';

interface ServeOptions {
  port: number;
  station: string;
  runs: string;
  parts?: string;
}

/** `focuswright serve` */
export function addServe(program: Command): void {
  program
    .command('serve')
    .summary('serve the web application on this machine')
    .description('Serves the web application on 127.0.0.1 (this machine only) until Ctrl-C.')
    .option('--port <number>', 'port to listen on; 0 takes any free one', portNumber, 7340)
    .option('--station <file>', 'station file, or demonstration station, to open first', 'glaze-line')
    .option('--runs <dir>', 'folder for the handovers of rehearsals', 'focuswright-runs')
    .option('--parts <path>', 'parts library of the layout search: a folder of YAML files and CSV tables')
    .action(async ({ port, station, runs, parts }: ServeOptions) => {
      // Loaded only here: every other command starts a fifth of a second sooner.
      const { startServer } = await import('../../server/index.js');
      const server = await startServer({
        port,
        stationPath: station,
        runsFolder: runs,
        ...(parts && { partsPath: parts }),
      });
      process.stdout.write(`Focuswright is open at ${server.url} (Ctrl-C ends it)\n`);
      const end = () => void server.close();
      process.once('SIGINT', end);
      process.once('SIGTERM', end);
    });
}

function portNumber(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 0 || value > 65535)
    throw new InvalidArgumentError('allowed: a whole number 0 … 65535.');
  return value;
}
