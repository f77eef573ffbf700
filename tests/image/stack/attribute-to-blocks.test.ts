import { describe, expect, it } from 'vitest';
import { attributeToBlocks } from '../../../src/image/stack/attribute-to-blocks.js';
import { focusRefusals } from '../../../src/image/stack/fit-best-focus.js';

const [columns, rows] = [12, 10];
const count = columns * rows;
const at = (column: number, row: number) => row * columns + column;
const kernel = [1, 4, 6, 4, 1];

/** Centre of gravity of the texture in the window about a block. */
function centre(textures: Float32Array, column: number, row: number): { x: number; y: number } {
  let [sum, x, y] = [0, 0, 0];
  for (let dy = -2; dy <= 2; dy++) {
    for (let dx = -2; dx <= 2; dx++) {
      const [c, r] = [column + dx, row + dy];
      if (c < 1 || r < 1 || c > columns - 2 || r > rows - 2) continue;
      const energy = kernel[dx + 2]! * kernel[dy + 2]! * textures[at(c, r)]!;
      sum += energy;
      x += energy * dx;
      y += energy * dy;
    }
  }
  return { x: x / sum, y: y / sum };
}

/** What windows see of a plane whose texture lies unevenly: its value at their centres of gravity. */
function seen(textures: Float32Array, plane: (column: number, row: number) => number) {
  const bestFocusDpt = Float32Array.from({ length: count }, (_, b) => {
    const [column, row] = [b % columns, Math.floor(b / columns)];
    const { x, y } = centre(textures, column, row);
    return plane(column + x, row + y);
  });
  return { bestFocusDpt, bestFocusStdDpt: new Float32Array(count).fill(0.004), refusals: new Uint8Array(count) };
}
const uneven = Float32Array.from({ length: count }, (_, b) => 1 + 0.9 * Math.sin(2.1 * b) * Math.cos(0.7 * b));
const plane = (column: number, row: number) => 1 + 0.01 * column - 0.006 * row;
const given = { columns, rows, quarterWaveHalfWidthDpt: 0.03 };

describe('best focus at the middle of blocks', () => {
  it('closed form: a plane is read at the middle of each block, wherever the texture of its window lies', () => {
    const map = seen(uneven, plane);
    const found = attributeToBlocks({ map, textures: uneven, ...given });
    let [before, after] = [0, 0];
    for (let row = 2; row < rows - 2; row++) {
      for (let column = 2; column < columns - 2; column++) {
        const b = at(column, row);
        before = Math.max(before, Math.abs(map.bestFocusDpt[b]! - plane(column, row)));
        after = Math.max(after, Math.abs(found.bestFocusDpt[b]! - plane(column, row)));
      }
    }
    expect(before).toBeGreaterThan(0.002);
    expect(after).toBeLessThan(before / 6);
  });

  it('property: a step beside a block does not draw it over: neighbours of another surface are left out', () => {
    const even = new Float32Array(count).fill(1);
    const map = seen(even, (column) => (column < 6 ? 1 : 1.2));
    map.bestFocusDpt.forEach((_, b) => {
      map.bestFocusDpt[b] = b % columns < 6 ? 1 : 1.2;
    });
    const found = attributeToBlocks({ map, textures: even, ...given });
    for (let row = 1; row < rows - 1; row++) {
      expect(found.bestFocusDpt[at(5, row)]).toBeCloseTo(1, 5);
      expect(found.bestFocusDpt[at(6, row)]).toBeCloseTo(1.2, 5);
    }
  });

  it('closed form: under even texture nine windows alike weigh as much as one; where the texture lies aside, less', () => {
    const stdOf = (textures: Float32Array) =>
      attributeToBlocks({ map: seen(textures, plane), textures, ...given }).bestFocusStdDpt;
    const [even, aside] = [stdOf(new Float32Array(count).fill(1)), stdOf(uneven)];
    for (let row = 3; row < rows - 3; row++) {
      for (let column = 3; column < columns - 3; column++) {
        expect(even[at(column, row)]! / 0.004).toBeCloseTo(1, 2);
        expect(aside[at(column, row)]).toBeGreaterThan(0.0039);
      }
    }
  });

  it('refuses a block without texture of its own as flat, and keeps what was refused', () => {
    const textures = Float32Array.from(uneven, (value) => value + 0.5);
    textures[at(5, 5)] = 0.01;
    const map = seen(textures, plane);
    map.refusals[at(8, 3)] = focusRefusals.indexOf('multiple');
    const found = attributeToBlocks({ map, textures, ...given });
    expect(focusRefusals[found.refusals[at(5, 5)]!]).toBe('flat');
    expect(focusRefusals[found.refusals[at(8, 3)]!]).toBe('multiple');
    for (const b of [at(5, 5), at(8, 3)]) expect(found.bestFocusDpt[b]).toBeNaN();
    expect(map.refusals[at(5, 5)]).toBe(0);
  });
});
