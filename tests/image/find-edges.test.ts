import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { findEdges, type GreyImage } from '../../src/image/index.js';

const squares = [
  { x: 140, y: 130, half: 60 },
  { x: 430, y: 140, half: 80 },
  { x: 200, y: 350, half: 50 },
  { x: 470, y: 360, half: 70 },
];

/** Dark squares on bright ground, all turned by the same angle. */
function target({ tiltDeg, blurPx, noiseDn }: { tiltDeg: number; blurPx: number; noiseDn: number }): GreyImage {
  const [widthPx, heightPx] = [640, 480];
  const random = seededRandom(4);
  const cos = Math.cos((tiltDeg * Math.PI) / 180);
  const sin = Math.sin((tiltDeg * Math.PI) / 180);
  const inside = (d: number) => 0.5 * (1 + Math.tanh((1.2 * d) / blurPx));
  const data = Uint8Array.from({ length: widthPx * heightPx }, (_, i) => {
    const [px, py] = [i % widthPx, Math.floor(i / widthPx)];
    let value = 180;
    for (const { x, y, half } of squares) {
      const u = (px - x) * cos + (py - y) * sin;
      const v = -(px - x) * sin + (py - y) * cos;
      value -= 130 * inside(half - Math.abs(u)) * inside(half - Math.abs(v));
    }
    return Math.round(value + noiseDn * random.normal());
  });
  return { widthPx, heightPx, bitDepth: 8, data };
}

describe('findEdges', () => {
  it.each([
    { blurPx: 0.8, noiseDn: 2 },
    { blurPx: 3, noiseDn: 2 },
    { blurPx: 1, noiseDn: 10 },
  ])('recovery: all 16 sides of four squares, in place and angle, blur $blurPx px, noise $noiseDn DN', (how) => {
    const found = findEdges({ image: target({ tiltDeg: 5, ...how }) });
    expect(found).toHaveLength(16);
    expect(found.filter(({ orientation }) => orientation === 'near-vertical')).toHaveLength(8);
    for (const { region, orientation, edgeAngleDeg } of found) {
      expect(Math.abs(edgeAngleDeg - (orientation === 'near-vertical' ? -5 : 5))).toBeLessThan(0.2);
      // The region's middle lies on a side of one of the squares.
      const [cx, cy] = [region.xPx + region.widthPx / 2, region.yPx + region.heightPx / 2];
      const nearest = Math.min(
        ...squares.map(({ x, y, half }) => {
          const [c, s] = [Math.cos(Math.PI / 36), Math.sin(Math.PI / 36)];
          const u = Math.abs((cx - x) * c + (cy - y) * s);
          const v = Math.abs(-(cx - x) * s + (cy - y) * c);
          return Math.abs(Math.max(u, v) - half);
        }),
      );
      expect(nearest).toBeLessThan(8);
    }
    expect(found.map(({ quality }) => quality)).toEqual(found.map(({ quality }) => quality).sort((a, b) => b - a));
  });

  it('recovery: most sides even with a blur of 8 px', () => {
    expect(findEdges({ image: target({ tiltDeg: 5, blurPx: 8, noiseDn: 2 }) }).length).toBeGreaterThanOrEqual(12);
  });

  it('property: a search region holds all regions found, and mostEdges keeps the best', () => {
    const image = target({ tiltDeg: -7, blurPx: 1, noiseDn: 2 });
    const region = { xPx: 300, yPx: 20, widthPx: 320, heightPx: 230 };
    const found = findEdges({ image, region });
    expect(found.length).toBeGreaterThanOrEqual(4);
    for (const { region: r } of found) {
      expect(r.xPx >= 300 && r.yPx >= 20 && r.xPx + r.widthPx <= 620 && r.yPx + r.heightPx <= 250).toBe(true);
    }
    expect(findEdges({ image, mostEdges: 3 })).toHaveLength(3);
  });

  it('degenerate: none in a plain frame, in noise, in squares that are not tilted, or in a tiny frame', () => {
    expect(findEdges({ image: target({ tiltDeg: 0, blurPx: 1, noiseDn: 2 }) })).toEqual([]);
    const random = seededRandom(2);
    for (const noise of [0, 6]) {
      const data = Uint8Array.from({ length: 200 * 200 }, () => Math.round(100 + noise * random.normal()));
      expect(findEdges({ image: { widthPx: 200, heightPx: 200, bitDepth: 8, data } })).toEqual([]);
    }
    expect(findEdges({ image: { widthPx: 5, heightPx: 5, bitDepth: 8, data: new Uint8Array(25) } })).toEqual([]);
  });

  it('refuses a bad number of edges', () => {
    expect(() => findEdges({ image: target({ tiltDeg: 5, blurPx: 1, noiseDn: 1 }), mostEdges: 0 })).toThrow(
      /mostEdges/,
    );
  });
});
