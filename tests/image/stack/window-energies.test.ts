import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { windowMaps } from '../../../src/image/stack/window-energies.fast.js';
import { scaledMap, windowEnergies } from '../../../src/image/stack/window-energies.js';

describe('windows over maps of blocks', () => {
  it('closed form: a sloping map is scaled about the middle of the frame', () => {
    const [columns, rows, blockPx] = [20, 16, 8];
    const map = Float32Array.from(
      { length: columns * rows },
      (_, b) => 3 * (b % columns) - 2 * Math.floor(b / columns),
    );
    const found = windowEnergies({ map, columns, rows, blockPx, widthPx: 160, heightPx: 128, scale: 1.02 });
    for (const [c, r] of [
      [7, 6],
      [12, 9],
      [9, 8],
    ] as const) {
      const at = (b: number, middle: number) => middle + 1.02 * (b - middle);
      expect(found[r * columns + c]).toBeCloseTo(3 * at(c, 9.5) - 2 * at(r, 7.5), 3);
    }
  });

  it.each([
    [6, 6],
    [7, 9],
    [8, 6],
    [13, 21],
    [40, 30],
  ])('property: the compiled kernel gives what the readable version gives, %i × %i blocks', (columns, rows) => {
    const random = seededRandom(columns);
    const map = Float32Array.from({ length: columns * rows }, () => 100 * random.uniform());
    const size = { columns, rows, blockPx: 8, widthPx: 8 * columns + 5, heightPx: 8 * rows + 3 };
    const fast = windowMaps(size);
    for (const scale of [1, 0.96, 1.003, 1.05]) {
      const near = (found: Float32Array, wanted: Float32Array) =>
        found.forEach((value, b) => {
          expect(Math.abs(value - wanted[b]!)).toBeLessThan(1e-4);
        });
      near(fast.windowed(map, scale), windowEnergies({ map, ...size, scale }));
      near(fast.scaled(map, scale), scaledMap({ map, ...size, scale }));
    }
  });
});
