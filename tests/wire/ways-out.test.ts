import { spawn } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { loopbackAddress, serveStation } from './served-station.js';

const small = {
  change: (file: { parts: { sensor: object } }) => {
    Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
  },
};

describe('focuswright twin: beginning and end', () => {
  it('refuses an address that is taken, or not of this machine, with the remedy', async () => {
    const first = await serveStation(small);
    await expect(serveStation({ ...small, address: first.address })).rejects.toThrow(/port is taken.*\n.*127\.0\.0\.2/);
    await expect(serveStation({ ...small, address: '203.0.113.7' })).rejects.toThrow(/cannot be served/);
    expect(await first.close()).toBe(0);
    const again = await serveStation({ ...small, address: first.address });
    expect(await again.close()).toBe(0);
  });

  it('property: it ends when standard input closes', async () => {
    const served = await serveStation(small);
    const code = new Promise((resolve) => served.process.once('close', resolve));
    served.process.stdin!.end();
    expect(await code).toBe(0);
  });

  it('refuses faults and options that do not exist', async () => {
    const said = (...options: string[]) =>
      new Promise<string>((resolve) => {
        const child = spawn(process.execPath, ['dist/cli/main.js', 'twin', 'glaze-line', ...options]);
        let stderr = '';
        child.stderr.on('data', (chunk) => {
          stderr += chunk;
        });
        child.on('close', (code) => resolve(`${code} ${stderr}`));
      });
    const address = loopbackAddress();
    expect(await said('--gige', address, '--faults', 'bad-weather')).toMatch(/^2 .*no such fault[\s\S]*packet-loss/);
    expect(await said('--gige', 'nowhere')).toMatch(/^2 .*IPv4/s);
    expect(await said('--gige', address, '--serial', 'much-too-long-a-serial')).toMatch(/^2 .*15 characters/s);
  });
});
