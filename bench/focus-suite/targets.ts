import { type Random, seededRandom } from '../../src/base/index.js';
import type { Canvas, Scene } from '../../src/twin/index.js';

/** Sub-cells each way over which a cell is averaged. */
const fine = 2;

/** A scene from its reflectance at each place, in camera pixels from the middle of the field. */
function painted(name: string, pixelMm: number, reflectanceAt: (xPx: number, yPx: number) => number): Scene {
  return {
    name,
    paint({ columnCount, rowCount, cellWidthMm, cellHeightMm, reflectance }: Canvas) {
      for (let row = 0; row < rowCount; row++) {
        for (let column = 0; column < columnCount; column++) {
          let sum = 0;
          for (let i = 0; i < fine * fine; i++) {
            const u = ((i % fine) + 0.5) / fine - 0.5;
            const v = (Math.floor(i / fine) + 0.5) / fine - 0.5;
            const x = ((column - (columnCount - 1) / 2 + u) * cellWidthMm) / pixelMm;
            const y = ((row - (rowCount - 1) / 2 + v) * cellHeightMm) / pixelMm;
            sum += reflectanceAt(x, y);
          }
          reflectance[row * columnCount + column] = sum / (fine * fine);
        }
      }
    },
  };
}

/** Slanted chequers. */
export function chequers(pixelMm: number, random: Random): Scene {
  const sizePx = 9 + 30 * random.uniform();
  const angle = 0.05 + 0.4 * random.uniform();
  const [c, s] = [Math.cos(angle) / sizePx, Math.sin(angle) / sizePx];
  return painted('chequers', pixelMm, (x, y) =>
    (Math.floor(c * x + s * y) + Math.floor(c * y - s * x)) % 2 === 0 ? 0.85 : 0.12,
  );
}

/** A star of black and white sectors. */
export function star(pixelMm: number, random: Random): Scene {
  const sectors = 18 + 2 * Math.floor(20 * random.uniform());
  const [x0, y0] = [40 * random.uniform() - 20, 40 * random.uniform() - 20];
  return painted('star', pixelMm, (x, y) => (Math.sin(sectors * Math.atan2(y - y0, x - x0)) > 0 ? 0.85 : 0.1));
}

/** Black dots strewn over white. */
export function dots(pixelMm: number, random: Random): Scene {
  const cellPx = 8 + 10 * random.uniform();
  const seed = Math.floor(2 ** 31 * random.uniform());
  const inCell = new Map<string, { x: number; y: number; radius: number }>();
  const dotOf = (i: number, j: number) => {
    const key = `${i},${j}`;
    let dot = inCell.get(key);
    if (dot === undefined) {
      const own = seededRandom(seed).fork(key);
      const radius = cellPx * (0.12 + 0.25 * own.uniform());
      const free = cellPx - 2 * radius;
      dot = { x: i * cellPx + radius + free * own.uniform(), y: j * cellPx + radius + free * own.uniform(), radius };
      inCell.set(key, dot);
    }
    return dot;
  };
  return painted('dots', pixelMm, (x, y) => {
    const dot = dotOf(Math.floor(x / cellPx), Math.floor(y / cellPx));
    return Math.hypot(x - dot.x, y - dot.y) < dot.radius ? 0.1 : 0.8;
  });
}

/** Nothing to focus on: one grey, a little brighter towards one side. */
export function plain(pixelMm: number, grey: number): Scene {
  return painted('plain', pixelMm, (x) => grey * (1 + x / 4000));
}
