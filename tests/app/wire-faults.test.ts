import { describe, expect, it } from 'vitest';
import { readServedFaults, servedFaultNames } from '../../src/app/twin-on-wire/wire-faults.js';
import { noWireFaults } from '../../src/drivers/index.js';
import { usualFaults } from '../../src/twin/index.js';

describe('faults of a served station', () => {
  it('closed form: a name alone is its usual case, with a number that number', () => {
    expect(readServedFaults(['late-frame', 'packet-loss=0.1', 'killed'])).toEqual({
      station: [usualFaults['late-frame']],
      wire: { ...noWireFaults, packetLossRatio: 0.1 },
      noResend: false,
      killedAfterCount: 10,
    });
  });

  it('property: each name changes something', () => {
    const none = JSON.stringify(readServedFaults([]));
    for (const name of Object.keys(servedFaultNames)) expect(JSON.stringify(readServedFaults([name]))).not.toBe(none);
  });

  it.each([
    ['bad-weather', /no such fault[\s\S]*packet-loss/],
    ['toString', /no such fault/],
    ['packet-loss=1.5', /allowed: 0 … 1/],
    ['packet-loss=', /allowed: 0 … 1/],
    ['killed=2.5', /whole number/],
    ['slow-settling=0', /allowed: > 0/],
    ['no-resend=3', /no number/],
    ['hot-lens=soon', /≥ 0 ms/],
  ])('refuses %s', (text, message) => {
    expect(() => readServedFaults([text])).toThrow(message);
  });
});
