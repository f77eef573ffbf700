import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { productsWith, weightedProducts } from '../../src/image/edge/weighted-products.js';

describe('weighted normal equations', () => {
  it.each([1, 2, 3, 4, 5, 7, 26])(
    'property: %i columns: every pair as summed up one by one, inside the range only',
    (n) => {
      const random = seededRandom(n);
      const [size, from, to] = [40, 3, 37];
      const draw = () => Float64Array.from({ length: size }, () => random.normal());
      const columns = Array.from({ length: n }, draw);
      const weights = draw().map(Math.abs);
      const values = draw();
      const sum = (of: (k: number) => number) => {
        let total = 0;
        for (let k = from; k < to; k++) total += of(k);
        return total;
      };
      const normal = weightedProducts({ columns, weights, from, to });
      const right = productsWith({ columns, values, from, to });
      for (let a = 0; a < n; a++) {
        expect(right[a]).toBeCloseTo(
          sum((k) => values[k]! * columns[a]![k]!),
          10,
        );
        for (let b = 0; b < n; b++) {
          expect(normal[a * n + b]).toBeCloseTo(
            sum((k) => weights[k]! * columns[a]![k]! * columns[b]![k]!),
            10,
          );
        }
      }
    },
  );
});
