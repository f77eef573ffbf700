import { describe, expect, it } from 'vitest';
import { type GreyImage, readFocus } from '../../src/image/index.js';

const chequered: GreyImage = {
  widthPx: 24,
  heightPx: 24,
  bitDepth: 8,
  data: Uint8Array.from({ length: 576 }, (_, i) => ((((i % 24) >> 1) + (Math.floor(i / 24) >> 1)) % 2 === 0 ? 40 : 90)),
};
const filled = (value: number): GreyImage => ({ ...chequered, data: new Uint8Array(576).fill(value) });

describe('readFocus', () => {
  it('property: one reading for each region, measures in the order asked for', () => {
    const regions = [
      { xPx: 0, yPx: 0, widthPx: 12, heightPx: 12 },
      { xPx: 12, yPx: 4, widthPx: 10, heightPx: 9 },
    ];
    const readings = readFocus({ image: chequered, regions, measures: ['brenner', 'tenengrad'], noiseStdDn: 1 });
    expect(readings.map(({ region }) => region)).toEqual(regions);
    for (const reading of readings) {
      if (reading.kind === 'refused') throw new Error(reading.message);
      expect(reading.values.map(({ name }) => name)).toEqual(['brenner', 'tenengrad']);
      expect(reading.values.every(({ std, noiseFloor }) => std! > 0 && noiseFloor! > 0)).toBe(true);
    }
  });

  it('degenerate: without a noise there are no error bars; a flat region is measured as zero', () => {
    const [reading] = readFocus({ image: filled(80), measures: ['tenengrad'] });
    expect(reading).toMatchObject({ kind: 'measured', values: [{ value: 0, std: null, noiseFloor: null }] });
  });

  it('refuses black, saturated and too small regions; nothing else in the call suffers', () => {
    expect(readFocus({ image: filled(0) })[0]).toMatchObject({ kind: 'refused', reason: 'black' });
    expect(readFocus({ image: filled(255) })[0]).toMatchObject({ kind: 'refused', reason: 'saturated' });
    const small = { xPx: 0, yPx: 0, widthPx: 8, heightPx: 20 };
    const whole = { xPx: 0, yPx: 0, widthPx: 24, heightPx: 24 };
    const readings = readFocus({ image: chequered, regions: [small, whole], noiseStdDn: 1 });
    expect(readings.map(({ kind }) => kind)).toEqual(['refused', 'measured']);
    expect(readings[0]).toMatchObject({ reason: 'region-too-small', remedy: expect.stringContaining('9 × 9') });
  });
});
