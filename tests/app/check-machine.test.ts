import { describe, expect, it } from 'vitest';
import { checkMachine, judgeMachine } from '../../src/app/check-machine.js';
import type { MachineReadings } from '../../src/app/machine-readings.js';

const ready: MachineReadings = {
  platform: 'linux',
  library: { version: '0.8.26', loadedFrom: 'libaravis-0.8.so.0' },
  receiveBufferMaxBytes: 33_554_432,
  isRoot: false,
  cards: [{ card: 'eth0', mtuBytes: 9000 }],
  waitsMs: [2.1, 2.3],
  folder: '/data',
  freeBytes: 50e9,
};
const missing = { missing: 'The library for GenICam cameras is not there.', remedy: 'Install libaravis-0.8-0.' };

describe('is this machine ready for a camera', () => {
  it('closed form: one that is ready meets all, and only USB3 leaves something to do', () => {
    const rows = judgeMachine(ready);
    expect(rows.map(({ name, verdict }) => `${name}: ${verdict}`)).toEqual([
      'library: meets',
      'network buffer: meets',
      'permissions: meets',
      'packet size: meets',
      'clock: meets',
      'disk: meets',
    ]);
    expect(rows.filter(({ remedy }) => remedy !== '').map(({ name }) => name)).toEqual(['permissions']);
  });

  it.each<[string, Partial<MachineReadings>, string, RegExp]>([
    ['library', { library: missing }, 'fails', /Install libaravis/],
    ['network buffer', { receiveBufferMaxBytes: 212_992 }, 'fails', /sysctl -w net\.core\.rmem_max=33554432/],
    ['network buffer', { receiveBufferMaxBytes: 4_194_304 }, 'marginal', /sysctl -w/],
    ['network buffer', { receiveBufferMaxBytes: null }, 'unknown', /lost frames/],
    ['permissions', { isRoot: true }, 'meets', /ordinary user/],
    ['permissions', {}, 'meets', /udev rule/],
    ['permissions', { platform: 'win32', isRoot: null }, 'unknown', /firewall.*3956/],
    ['packet size', { cards: [{ card: 'eth0', mtuBytes: 1500 }] }, 'marginal', /mtu 9000/],
    ['packet size', { cards: [{ card: 'Ethernet', mtuBytes: null }] }, 'unknown', /jumbo/],
    ['packet size', { cards: [] }, 'unknown', /jumbo/],
    ['clock', { waitsMs: [2, 15.6, 15.6] }, 'marginal', /power saving/],
    ['disk', { freeBytes: 1e9 }, 'marginal', /--out/],
    ['disk', { freeBytes: null }, 'unknown', /another folder/],
  ])('closed form: %s with %j is %s, with its remedy', (name, change, verdict, remedy) => {
    const row = judgeMachine({ ...ready, ...change }).find((one) => one.name === name)!;
    expect(row.verdict).toBe(verdict);
    expect(row.remedy).toMatch(remedy);
    expect(row.found).not.toMatch(/NaN|undefined|null/);
  });

  it('property: this machine is read without an error; a folder that is not there is told', async () => {
    const rows = await checkMachine({ folder: '/no/such/folder' });
    expect(rows).toHaveLength(6);
    expect(rows.at(-1)).toMatchObject({ name: 'disk', verdict: 'unknown' });
  });
});
