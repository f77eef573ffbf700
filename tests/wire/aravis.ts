import { execFile } from 'node:child_process';
import { promisify } from 'node:util';

const run = promisify(execFile);

/** Calls Aravis's own command-line client: `name` reads a feature, `name=value` writes it. One line of output for each. */
export async function arvControl(address: string, ...features: string[]): Promise<string[]> {
  const { stdout } = await run('arv-tool-0.8', ['-a', address, 'control', ...features], { timeout: 30_000 });
  return stdout.trim().split('\n');
}

/** What Aravis's test client counts after a stream. */
export async function arvStream(address: string, ...options: string[]): Promise<Record<string, number>> {
  const { stdout } = await run(
    'arv-camera-test-0.8',
    ['--no-packet-socket', '--auto', '--name', address, '--duration', '4', ...options],
    { timeout: 40_000 },
  );
  return Object.fromEntries(
    [...stdout.matchAll(/^n_(\w+)\s*=\s*(\d+)/gm)].map(([, name, count]) => [name!, Number(count)]),
  );
}

/** Any other command of Aravis's command-line client. */
export async function arvTool(...args: string[]): Promise<string> {
  return (await run('arv-tool-0.8', args, { timeout: 30_000 })).stdout;
}
