import { type GreyImage, maxGreyValueDn } from '../grey-image.js';
import { fitRing } from './star-ring.js';
import { refused, type StarReading } from './star-target.js';

/** Where a star lies and how far it reaches. */
export type StarCentre =
  | { kind: 'found'; xPx: number; yPx: number; stdPx: number; radiusPx: number }
  | Extract<StarReading, { kind: 'refused' }>;

const sectorCount = 8;
/** Share of a coarse ring's spread that the wave of the right count explains at least. */
const leastExplained = 0.5;
/** The same for a count to propose. */
const surelyExplained = 0.7;
/** The blur of the star's own rim reaches so far inwards. */
const rimPx = 5;

/**
 * Finds a star's centre.
 *
 * Model    the lines of a star all run through its centre: least squares of g·(centre − p) = 0 over the gradients g, those
 *          that miss by much left out again and again; then the phases of rings, whose pattern a wrong centre turns in opposite ways
 * Input    `guess`: begin there instead of the gradients
 */
export function findStarCentre({
  image,
  cycles,
  guess,
}: {
  image: GreyImage;
  cycles: number;
  guess?: { xPx: number; yPx: number } | undefined;
}): StarCentre {
  const begin = guess ?? centreOfGradients(image);
  if (begin === null) return noStar();
  let { xPx, yPx } = begin;
  const { widthPx, heightPx } = image;
  if (!(xPx > 0 && yPx > 0 && xPx < widthPx - 1 && yPx < heightPx - 1)) {
    if (guess)
      throw new RangeError(`centre is (${xPx}, ${yPx}) px; allowed: inside the frame of ${widthPx} × ${heightPx} px`);
    return noStar();
  }
  const full = maxGreyValueDn(image);
  const ring = (radiusPx: number, count = cycles) =>
    fitRing({ image, centre: { xPx, yPx }, radiusPx, cycles: count, blackLevelDn: 0, sectorCount, full });
  const room = () => Math.floor(Math.min(xPx, yPx, widthPx - 1 - xPx, heightPx - 1 - yPx)) - 2;
  const finest = cycles / Math.PI;
  let stdPx = 1;
  let radiusPx = outerRadius(ring, finest, room());
  if (radiusPx < 1.2 * finest + 6) {
    return wrongCount((count) => ring(0.7 * room(), count).explainedFraction, cycles);
  }
  for (let pass = 0; pass < 6; pass++) {
    const radii = Array.from({ length: 9 }, (_, i) => finest * 1.3 + ((radiusPx - 1.3 * finest) * (i + 1)) / 10);
    const fits = radii.map((radius) => ring(radius)).filter(({ contrast }) => contrast > 0.05);
    if (fits.length < 3) return noStar();
    const shiftX = median(fits.map((fit) => fit.shiftXPx));
    const shiftY = median(fits.map((fit) => fit.shiftYPx));
    xPx += shiftX;
    yPx += shiftY;
    if (room() < 1.2 * finest) return noStar();
    const spread = fits.map((fit) => Math.hypot(fit.shiftXPx - shiftX, fit.shiftYPx - shiftY));
    stdPx = median(spread) / Math.sqrt(fits.length);
    if (Math.hypot(shiftX, shiftY) < 1e-3) break;
  }
  radiusPx = outerRadius(ring, finest, room());
  const explained = median([0.6, 0.7, 0.8, 0.9].map((share) => ring(share * radiusPx).explainedFraction));
  if (explained < leastExplained) return wrongCount((count) => ring(0.8 * radiusPx, count).explainedFraction, cycles);
  return { kind: 'found', xPx, yPx, stdPx, radiusPx };
}

/** The outermost radius at which the star's own count is still the pattern. */
function outerRadius(ring: (radiusPx: number) => { contrast: number }, finest: number, room: number): number {
  let best = 0;
  const contrasts: { radius: number; contrast: number }[] = [];
  for (let radius = finest + 2; radius <= room; radius += Math.max(1, room / 60))
    contrasts.push({ radius, contrast: ring(radius).contrast });
  const most = contrasts.reduce((top, { contrast }) => Math.max(top, contrast), 0);
  if (most < 0.04) return 0;
  for (const { radius, contrast } of contrasts) if (contrast > 0.7 * most) best = radius;
  return best - rimPx;
}

/** Says which count from 8 to 200 explains a ring, where one does. */
function wrongCount(explainedBy: (count: number) => number, cycles: number): Extract<StarReading, { kind: 'refused' }> {
  const explained = Array.from({ length: 193 }, (_, i) => explainedBy(i + 8));
  const most = Math.max(...explained);
  const other = explained.indexOf(most) + 8;
  if (most < surelyExplained || other === cycles) return noStar();
  return refused(
    'wrong-count',
    `The picture shows ${other} cycles round its centre, not ${cycles}.`,
    `Give --sectors ${other} if that is the star.`,
  );
}

function centreOfGradients({ widthPx, heightPx, data }: GreyImage): { xPx: number; yPx: number } | null {
  const step = Math.max(1, Math.floor(Math.sqrt((widthPx * heightPx) / 250_000)));
  const points: { x: number; y: number; gx: number; gy: number }[] = [];
  let strongest = 0;
  for (let y = 2; y < heightPx - 2; y += step) {
    for (let x = 2; x < widthPx - 2; x += step) {
      const at = y * widthPx + x;
      const row = (i: number) =>
        data[at + i * widthPx - 1]! + 2 * data[at + i * widthPx]! + data[at + i * widthPx + 1]!;
      const column = (i: number) => data[at + i - widthPx]! + 2 * data[at + i]! + data[at + i + widthPx]!;
      const [gx, gy] = [column(1) - column(-1), row(1) - row(-1)];
      strongest = Math.max(strongest, gx * gx + gy * gy);
      points.push({ x, y, gx, gy });
    }
  }
  const strong = points.filter(({ gx, gy }) => gx * gx + gy * gy > 0.04 * strongest);
  if (strong.length < 200 || strongest < 64) return null;
  let centre: { xPx: number; yPx: number } | null = null;
  for (let pass = 0; pass < 12; pass++) {
    let [xx, xy, yy, rx, ry] = [0, 0, 0, 0, 0];
    const scale = Math.max(4, (0.5 * Math.min(widthPx, heightPx)) / 1.8 ** pass);
    for (const { x, y, gx, gy } of strong) {
      const size = Math.hypot(gx, gy);
      const [nx, ny] = [gx / size, gy / size];
      const along = nx * x + ny * y;
      const miss = centre ? nx * centre.xPx + ny * centre.yPx - along : 0;
      const w = 1 / (1 + (miss / scale) ** 2) ** 2;
      xx += w * nx * nx;
      xy += w * nx * ny;
      yy += w * ny * ny;
      rx += w * nx * along;
      ry += w * ny * along;
    }
    const det = xx * yy - xy * xy;
    if (!(det > 1e-6 * xx * yy)) return null;
    centre = { xPx: (yy * rx - xy * ry) / det, yPx: (xx * ry - xy * rx) / det };
  }
  return centre;
}

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;

const noStar = () =>
  refused(
    'no-star',
    'No star target was found: no centre that the lines of the picture run through.',
    'Give --centre x,y and the right --sectors, crop the picture to the star, or focus nearer.',
  );
