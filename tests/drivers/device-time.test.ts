import { describe, expect, it } from 'vitest';
import { deviceTime } from '../../src/drivers/genicam/device-time.js';

describe('device time', () => {
  it('recovery: a late frame is told by its time stamp; a slow drift of the clocks is not taken for lateness', () => {
    const time = deviceTime();
    for (let i = 0; i < 500; i++) {
      const deviceTimeMs = 1000 + 100 * i;
      const way = 5 + (i % 3) * 0.2;
      const systemTimeMs = 1e9 + deviceTimeMs * (1 + 5e-5) + way;
      expect(time.promptArrivalMs({ deviceTimeMs, systemTimeMs })).toBeGreaterThan(systemTimeMs - 1);
    }
    const deviceTimeMs = 1000 + 100 * 500;
    const promptMs = 1e9 + deviceTimeMs * (1 + 5e-5) + 5;
    const told = time.promptArrivalMs({ deviceTimeMs, systemTimeMs: promptMs + 120 });
    expect(Math.abs(told - promptMs)).toBeLessThan(0.1);
  });

  it('degenerate: without time stamps the arrival itself counts', () => {
    const time = deviceTime();
    expect(time.promptArrivalMs({ deviceTimeMs: 0, systemTimeMs: 50 })).toBe(50);
    expect(time.promptArrivalMs({ deviceTimeMs: 7, systemTimeMs: 60 })).toBe(60);
    expect(time.promptArrivalMs({ deviceTimeMs: 7, systemTimeMs: 90 })).toBe(90);
  });
});
