import { describe, expect, it } from 'vitest';
import { encodeFloatTiff, imageDescription } from '../../src/image/index.js';

describe('TIFF of real numbers', () => {
  const data = Float32Array.of(1.5, Number.NaN, -2.25, 1e-3, 7, 8);
  const bytes = encodeFloatTiff({ widthPx: 3, heightPx: 2, data }, { description: 'heights in µm' });

  it('closed form: header, one strip of little-endian 32-bit real numbers, tags in rising order', () => {
    const view = new DataView(bytes.buffer);
    expect([view.getUint16(0, true), view.getUint16(2, true)]).toEqual([0x4949, 42]);
    expect(data).toEqual(Float32Array.from({ length: 6 }, (_, i) => view.getFloat32(8 + 4 * i, true)));
    const at = view.getUint32(4, true);
    const tags = Array.from({ length: view.getUint16(at, true) }, (_, i) => view.getUint16(at + 2 + 12 * i, true));
    expect(tags).toEqual([256, 257, 258, 259, 262, 270, 273, 277, 278, 279, 339]);
    expect(bytes.length).toBe(at + 2 + 12 * tags.length + 4);
  });

  it('property: the description can be read back', () => {
    expect(imageDescription(bytes)).toBe('heights in µm');
  });

  it('refuses data that do not fill the picture', () => {
    expect(() => encodeFloatTiff({ widthPx: 3, heightPx: 3, data })).toThrow(/data holds 6 values; allowed: 3 × 3 = 9/);
  });
});
