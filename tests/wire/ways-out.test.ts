import { describe, expect, it } from 'vitest';
import { focuswright } from '../cli/run-cli.js';
import { loopbackAddress, serveStation } from './served-station.js';

const small = {
  change: (file: { parts: { sensor: object } }) => {
    Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
  },
};

describe('focuswright twin: beginning and end', () => {
  it('refuses an address that is taken, with the remedy, and takes it when it is free again', async () => {
    const first = await serveStation(small);
    await expect(serveStation({ ...small, address: first.address })).rejects.toThrow(/port is taken.*\n.*127\.0\.0\.2/);
    expect(await first.close()).toBe(0);
    const again = await serveStation({ ...small, address: first.address });
    const code = new Promise((resolve) => again.process.once('close', resolve));
    again.process.stdin!.end();
    expect(await code, 'standard input closed').toBe(0);
  }, 120_000);

  it('refuses an address that is not one of this machine', async () => {
    await expect(serveStation({ ...small, address: '203.0.113.7' })).rejects.toThrow(/cannot be served/);
  });

  it('refuses faults and options that do not exist', async () => {
    const said = async (...options: string[]) => {
      const { code, stderr } = await focuswright(['twin', 'glaze-line', ...options]);
      return `${code} ${stderr}`;
    };
    const address = loopbackAddress();
    expect(await said('--gige', address, '--faults', 'bad-weather')).toMatch(/^2 .*no such fault[\s\S]*packet-loss/);
    expect(await said('--gige', 'nowhere')).toMatch(/^2 .*IPv4/s);
    expect(await said('--gige', address, '--serial', 'much-too-long-a-serial')).toMatch(/^2 .*15 characters/s);
  });
});
