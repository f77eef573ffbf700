import { choleskyFactor, choleskySolve } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';

/** The harmonic fit of one ring. */
export interface RingFit {
  radiusPx: number;
  frequencyPerPx: number;
  contrast: number;
  contrastStd: number;
  sectors: { contrast: number; phaseRad: number }[];
  /** Place of the pattern against the assumed centre, from the phases of all sectors. */
  shiftXPx: number;
  shiftYPx: number;
  saturatedFraction: number;
  /** Share of the grey values' spread that the wave explains, 0 … 1; 0.81 for bars without blur. */
  explainedFraction: number;
  /** Phase of the pattern as a whole. */
  phaseRad: number;
}

/** Half the radial width of a ring. */
const halfWidthPx = 0.75;

/**
 * Fits grey = a + b·θ + c·cos nθ + s·sin nθ in each sector of a ring; θ runs clockwise from the right.
 *
 * Model    pixels whose centres lie within ± 0.75 px of the radius without those outside the frame;
 *          the square of the noise is taken off the squared amplitude
 * Input    ring inside the frame; `full`: the largest grey value
 */
export function fitRing({
  image,
  centre,
  radiusPx,
  cycles,
  blackLevelDn,
  sectorCount,
  full,
}: {
  image: GreyImage;
  centre: { xPx: number; yPx: number };
  radiusPx: number;
  cycles: number;
  blackLevelDn: number;
  sectorCount: number;
  full: number;
}): RingFit {
  const normals = Array.from({ length: sectorCount }, () => new Float64Array(16));
  const rights = Array.from({ length: sectorCount }, () => new Float64Array(4));
  const squares = new Float64Array(sectorCount);
  const counts = new Float64Array(sectorCount);
  let [saturated, total] = [0, 0];
  const { xPx, yPx } = centre;
  const reach = radiusPx + halfWidthPx;
  const [top, bottom] = [Math.max(0, Math.ceil(yPx - reach)), Math.min(image.heightPx - 1, Math.floor(yPx + reach))];
  for (let y = top; y <= bottom; y++) {
    const dy = y - yPx;
    const outer = Math.sqrt(Math.max(0, reach ** 2 - dy ** 2));
    const inner = Math.sqrt(Math.max(0, (radiusPx - halfWidthPx) ** 2 - dy ** 2));
    for (const [from, to] of inner > 0
      ? ([
          [xPx - outer, xPx - inner],
          [xPx + inner, xPx + outer],
        ] as const)
      : ([[xPx - outer, xPx + outer]] as const)) {
      for (let x = Math.max(0, Math.ceil(from)); x <= Math.min(image.widthPx - 1, Math.floor(to)); x++) {
        const dx = x - xPx;
        const angle = Math.atan2(dy, dx);
        const turn = (angle * sectorCount) / (2 * Math.PI) + sectorCount;
        const sector = Math.round(turn) % sectorCount;
        const grey = image.data[y * image.widthPx + x]!;
        if (grey >= full) saturated++;
        total++;
        const terms = [1, turn - Math.round(turn), Math.cos(cycles * angle), Math.sin(cycles * angle)];
        const [normal, right] = [normals[sector]!, rights[sector]!];
        for (let i = 0; i < 4; i++) {
          right[i] = right[i]! + terms[i]! * grey;
          for (let j = 0; j < 4; j++) normal[4 * i + j] = normal[4 * i + j]! + terms[i]! * terms[j]!;
        }
        squares[sector] = squares[sector]! + grey * grey;
        counts[sector] = counts[sector]! + 1;
      }
    }
  }
  const sectors = normals.map((normal, k) => sectorFit(normal, rights[k]!, squares[k]!, counts[k]!, blackLevelDn));
  const cosine = sectors.reduce((sum, s) => sum + s.cosine, 0) / sectorCount;
  const sine = sectors.reduce((sum, s) => sum + s.sine, 0) / sectorCount;
  const phaseRad = Math.atan2(sine, cosine);
  const { shiftXPx, shiftYPx } = shiftOf(sectors, phaseRad, radiusPx, cycles);
  return {
    radiusPx,
    frequencyPerPx: cycles / (2 * Math.PI * radiusPx),
    contrast: Math.max(0, sectors.reduce((sum, { signed }) => sum + signed, 0) / sectorCount),
    explainedFraction: ratio(
      sectors.reduce((sum, { wave2 }) => sum + wave2, 0),
      sectors.reduce((sum, { spread2 }) => sum + spread2, 0),
    ),
    contrastStd: Math.sqrt(sectors.reduce((sum, { std }) => sum + std ** 2, 0)) / sectorCount,
    sectors: sectors.map(({ contrast, phase }) => ({ contrast, phaseRad: phase })),
    shiftXPx,
    shiftYPx,
    saturatedFraction: total > 0 ? saturated / total : 0,
    phaseRad,
  };
}

function sectorFit(normal: Float64Array, right: Float64Array, squares: number, count: number, blackLevelDn: number) {
  const factor = count > 8 ? choleskyFactor(normal, 4) : null;
  if (factor === null) return { contrast: 0, signed: 0, std: 1, phase: 0, cosine: 0, sine: 0, wave2: 0, spread2: 0 };
  const [a, , c, s] = choleskySolve(factor, 4, right) as unknown as [number, number, number, number];
  const explained = choleskySolve(factor, 4, right).reduce((sum, value, i) => sum + value * right[i]!, 0);
  const noise2 = Math.max(0, (squares - explained) / (count - 4));
  // Each coefficient of a wave has the variance 2 σ²/n; noise adds both to the squared amplitude.
  const std = Math.sqrt((2 * noise2) / count);
  const amplitude2 = c * c + s * s - 2 * std * std;
  const level = Math.max(1e-9, a - blackLevelDn);
  return {
    contrast: Math.sqrt(Math.max(0, amplitude2)) / level,
    // With its sign, so that noise averages out over the sectors.
    signed: (Math.sign(amplitude2) * Math.sqrt(Math.abs(amplitude2))) / level,
    std: std / level,
    phase: Math.atan2(s, c),
    cosine: c,
    sine: s,
    wave2: (count * (c * c + s * s)) / 2,
    spread2: squares - right[0]! ** 2 / count,
  };
}

const ratio = (part: number, whole: number): number => (whole > 0 ? part / whole : 0);

/** A shift d turns the phase at the direction θ by n·(d·t)/r, t = (−sin θ, cos θ): least squares over the sectors. */
function shiftOf(
  sectors: readonly { phase: number; contrast: number }[],
  phaseRad: number,
  radiusPx: number,
  cycles: number,
) {
  let [x, y, weight] = [0, 0, 0];
  sectors.forEach(({ phase, contrast }, k) => {
    const angle = (2 * Math.PI * k) / sectors.length;
    const turned = Math.atan2(Math.sin(phase - phaseRad), Math.cos(phase - phaseRad));
    const along = (turned * radiusPx) / cycles;
    const w = contrast ** 2;
    x += w * -Math.sin(angle) * along * 2;
    y += w * Math.cos(angle) * along * 2;
    weight += w;
  });
  return weight > 0 ? { shiftXPx: x / weight, shiftYPx: y / weight } : { shiftXPx: 0, shiftYPx: 0 };
}
