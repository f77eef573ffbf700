import { gaussLegendre } from '../../optics/gauss-legendre.js';
import { frequencyOfSample, rowLength } from './pupil-otf.js';

/** Directions in which the transfer function is known: evenly from along the coma to across it. */
export const directionCount = 13;
/** Defocus beyond this is drawn as this much: the image is featureless long before. */
const mostDefocusWaves = 40;
/** Nodes across the pupil overlap along the shear, by how many waves of defocus and coma they must follow. */
const nodeCounts = [32, 64, 128, 256];
const acrossRule = gaussLegendre(24);

/** A row of a complex transfer function for each direction. */
export interface DirectedRow {
  real: Float64Array;
  imaginary: Float64Array;
}

/** Transfer functions of one pupil with coma at any defocus. */
export interface ComaPupilOtf {
  /** Highest frequency of a row, as a fraction of the optical cutoff. */
  highestS: number;
  /** Adds `weight` times the rows for a defocus, one for each direction. */
  addRows(rows: readonly DirectedRow[], at: { defocusWaves: number; weight: number }): void;
}

/**
 * Transfer function of the circular pupil with fixed coma and spherical aberration, fast for defocus after defocus.
 *
 * Model    W = W20·ρ² + W040·ρ⁴ + W31·(ρ³ − ⅔ρ)·cos θ: the tilt that holds the image in its place is taken out. Two points
 *          of the overlap, x and −x, share one integral over y, which does not depend on defocus
 * Formula  OTF(s, φ) = (1/π)·∫₀ [g₊(x)·exp(iθx) + g₋(x)·exp(−iθx)] dx, θ = 8π·s·W20,
 *          g± = ∫ exp(2πi·W31·[cos φ·(6sx² + 2sy² + 2s³ − 4s/3) + 4·sin φ·sxy] ± iσx(x² + y² + s²)) dy, σ = 16π·s·W040
 * Input    φ, the angle between frequency and coma, is 0 … π/2 in `directionCount` steps; beyond, OTF(π − φ) = OTF(φ)*.
 * Trust    to 1e-4 up to 4 waves of coma at the pupil's edge (0.5 rms); defocus held at 40 waves beyond.
 * Source   Hopkins, Proc. R. Soc. A 231, 91 (1955), the overlap integral
 * Checked  reference: pupilShapeOtf of src/optics; degenerate: without coma pupilOtf, tests/twin/render/coma-pupil-otf.test.ts
 */
export function comaPupilOtf({
  sphericalWaves,
  comaWaves,
  highestS,
}: {
  sphericalWaves: number;
  /** W31 at the pupil's edge. */
  comaWaves: number;
  highestS: number;
}): ComaPupilOtf {
  const tables = new Map<number, OverlapTable[]>();
  return {
    highestS,
    addRows(rows, { defocusWaves, weight }) {
      const held = Math.max(-mostDefocusWaves, Math.min(mostDefocusWaves, defocusWaves));
      const needed = 4 * Math.abs(held) + 8 * Math.abs(comaWaves) + 24;
      const nodeCount = nodeCounts.find((count) => count >= needed) ?? nodeCounts.at(-1)!;
      let directions = tables.get(nodeCount);
      if (directions === undefined) {
        directions = Array.from({ length: directionCount }, (_, i) =>
          overlapTable({
            sphericalWaves,
            comaWaves,
            highestS,
            nodeCount,
            directionRad: (i / (directionCount - 1)) * (Math.PI / 2),
          }),
        );
        tables.set(nodeCount, directions);
      }
      for (const [i, row] of rows.entries()) addRow(row, directions[i]!, nodeCount, held, weight);
    },
  };
}

function addRow(
  { real, imaginary }: DirectedRow,
  table: OverlapTable,
  nodeCount: number,
  defocusWaves: number,
  weight: number,
): void {
  const { phasePerWave, cosineReal, cosineImaginary, sineReal, sineImaginary } = table;
  for (let i = 0; i < rowLength; i++) {
    let re = 0;
    let im = 0;
    for (let j = i * nodeCount; j < (i + 1) * nodeCount; j++) {
      const phase = defocusWaves * phasePerWave[j]!;
      const c = Math.cos(phase);
      const s = Math.sin(phase);
      re += cosineReal[j]! * c + sineReal[j]! * s;
      im += cosineImaginary[j]! * c + sineImaginary[j]! * s;
    }
    real[i]! += weight * re;
    imaginary[i]! += weight * im;
  }
}

/** For every s and node x: phase for one wave of defocus; (g₊ + g₋) and i·(g₊ − g₋) times the weight. */
interface OverlapTable {
  phasePerWave: Float32Array;
  cosineReal: Float32Array;
  cosineImaginary: Float32Array;
  sineReal: Float32Array;
  sineImaginary: Float32Array;
}

function overlapTable({
  sphericalWaves,
  comaWaves,
  highestS,
  nodeCount,
  directionRad,
}: {
  sphericalWaves: number;
  comaWaves: number;
  highestS: number;
  nodeCount: number;
  directionRad: number;
}): OverlapTable {
  const along = gaussLegendre(nodeCount);
  const lists = Array.from({ length: 5 }, () => new Float32Array(rowLength * nodeCount));
  const [phasePerWave, cosineReal, cosineImaginary, sineReal, sineImaginary] = lists as [
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
  ];
  const alongComa = 2 * Math.PI * comaWaves * Math.cos(directionRad);
  const acrossComa = 8 * Math.PI * comaWaves * Math.sin(directionRad);
  for (let i = 0; i < rowLength; i++) {
    const s = frequencyOfSample(i, highestS);
    for (let j = 0; j < nodeCount; j++) {
      // x = (1 − s)(1 − v²) takes the square root out of the end of the overlap.
      const v = (1 + along.nodes[j]!) / 2;
      const x = (1 - s) * (1 - v * v);
      const height = Math.sqrt(Math.max(0, 1 - (x + s) ** 2));
      const weight = (1 / Math.PI) * along.weights[j]! * (1 - s) * v * height;
      let plusReal = 0;
      let plusImaginary = 0;
      let minusReal = 0;
      let minusImaginary = 0;
      for (let k = 0; k < acrossRule.nodes.length; k++) {
        const y = height * acrossRule.nodes[k]!;
        const coma = alongComa * s * (6 * x * x + 2 * y * y + 2 * s * s - 4 / 3) + acrossComa * s * x * y;
        const spherical = 16 * Math.PI * s * sphericalWaves * x * (x * x + y * y + s * s);
        const w = acrossRule.weights[k]!;
        plusReal += w * Math.cos(coma + spherical);
        plusImaginary += w * Math.sin(coma + spherical);
        minusReal += w * Math.cos(coma - spherical);
        minusImaginary += w * Math.sin(coma - spherical);
      }
      const at = i * nodeCount + j;
      phasePerWave[at] = 8 * Math.PI * s * x;
      cosineReal[at] = weight * (plusReal + minusReal);
      cosineImaginary[at] = weight * (plusImaginary + minusImaginary);
      sineReal[at] = -weight * (plusImaginary - minusImaginary);
      sineImaginary[at] = weight * (plusReal - minusReal);
    }
  }
  return { phasePerWave, cosineReal, cosineImaginary, sineReal, sineImaginary };
}
